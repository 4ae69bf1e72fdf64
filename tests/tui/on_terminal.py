"""The sheet on a real terminal, for the test that types into one."""

from __future__ import annotations

import sys
from pathlib import Path

from hall import Hall

from stepwise.tui import Start, StepwiseApp

if __name__ == "__main__":
    hall = Hall(Path(sys.argv[1]))
    app = StepwiseApp(hall.services(), Start(run=hall.run()))
    app.run(mouse=False)
    sys.exit(app.return_code or 0)
