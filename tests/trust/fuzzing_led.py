"""The same doors, with inputs that the coverage of our own code leads (atheris).

    python -m tests.trust.fuzzing_led notation --inputs 1000000 [--seed 1]

Ends by itself; a find is printed, and left as a file in the folder it runs in. Atheris is in the
dev extra where it has a wheel.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["stepwise"]):
    from tests.trust.fuzzing import Doors, asked_for, knock


def main() -> None:
    """Fuzz one door; never comes back."""
    chosen = asked_for(__doc__)
    folder = Path(tempfile.mkdtemp())
    door, starts = Doors(folder).doors[chosen.door]
    corpus = folder / "corpus"
    corpus.mkdir()
    for number, start in enumerate(starts):
        (corpus / str(number)).write_bytes(start)
    words = ["fuzzing", f"-runs={chosen.inputs}", f"-seed={chosen.seed}", "-max_len=8192"]
    words += ["-rss_limit_mb=2048", "-print_final_stats=1", str(corpus)]
    atheris.Setup(words, lambda data: knock(door, data) and None)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
