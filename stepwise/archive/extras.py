"""What an export or a server needs beyond the plain program, and how it is put in."""

from __future__ import annotations

import sys
from shlex import quote


def install_words(extra: str) -> str:
    """What to type to put an extra in, as the end of a sentence.

    It is put in from the project's folder, by the very Python that this runs on: a package that
    a public registry has under the same name need not be this one.

    Args:
        extra: Its name in `pyproject.toml`.
    """
    python = quote(sys.executable) if sys.executable else "python3"
    return f"in the folder of the project run {python} -m pip install -e '.[{extra}]'"
