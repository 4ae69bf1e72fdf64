"""What every test of the screens begins with."""

from __future__ import annotations

from pathlib import Path

import pytest
from hall import Hall


@pytest.fixture
def hall(tmp_path: Path) -> Hall:
    """Services over an empty folder of logs."""
    folder = tmp_path / "logs"
    folder.mkdir()
    return Hall(folder)
