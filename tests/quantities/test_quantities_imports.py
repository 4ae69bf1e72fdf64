"""The room opens quickly: what is dear to import is not imported with it."""

from __future__ import annotations

import subprocess
import sys

import pytest

LIST_MODULES = "import sys; print('\\n'.join(sys.modules))"
WORK = {
    "import": "import stepwise.quantities",
    "live echo": (
        "from stepwise.quantities import *; "
        "print(parse_entry('2.0 on 3 x10', Expected(Answer.QUANTITY, 'V', Form.RMS)).echo); "
        "print(require('1 kHz', 'Hz'), compile_expression('a * b').evaluate({'a': 2, 'b': 3}))"
    ),
}


@pytest.mark.parametrize("work", WORK)
def test_neither_numpy_nor_pint_is_imported(work):
    run = subprocess.run(
        [sys.executable, "-c", f"{WORK[work]}; {LIST_MODULES}"],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONIOENCODING": "utf-8"},
    )
    modules = set(run.stdout.split())
    assert "stepwise.quantities.entry" in modules
    assert not modules & {"numpy", "pint", "textual", "rich", "msgspec"}


def test_the_dimension_check_imports_pint_and_leaves_no_cache():
    code = (
        "from stepwise.quantities import *; import sys; "
        "check_dimension(compile_expression('a * b'), {'a': 'V', 'b': 'A'}, 'W'); "
        "assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_the_shop_window_shows_what_it_says():
    import stepwise.quantities as room

    assert room.__all__ == sorted(
        room.__all__, key=lambda name: (not name.isupper(), name[0].islower(), name)
    )
    assert all(hasattr(room, name) for name in room.__all__)
