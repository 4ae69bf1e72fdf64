"""Writes the agreed bytes of the reports anew: `python -m tests.report.write_golden`."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from tests.report.logs import rehearsed
from tests.report.test_report_forms import GOLDEN, forms


def main() -> None:
    with TemporaryDirectory() as folder:
        for name, text in forms(rehearsed(Path(folder))).items():
            (GOLDEN / name).write_bytes(text.encode())
            print(GOLDEN / name)


if __name__ == "__main__":
    main()
