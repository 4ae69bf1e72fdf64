"""One seeded rehearsal and one run full of traps, read once for all tests of this room."""

from __future__ import annotations

import pytest

from stepwise.run import RunView
from tests.report.logs import rehearsed, trapped


@pytest.fixture(scope="session")
def rehearsal(tmp_path_factory: pytest.TempPathFactory) -> RunView:
    return rehearsed(tmp_path_factory.mktemp("rehearsal"))


@pytest.fixture(scope="session")
def traps(tmp_path_factory: pytest.TempPathFactory) -> RunView:
    return trapped(tmp_path_factory.mktemp("traps"))
