"""The sheet in a real pseudo-terminal: bytes in, journal out, terminal left as it was."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from stepwise.run import read_run

pytest.importorskip("pty", reason="pseudo-terminals are of POSIX only")

from tests.trust.terminal import Terminal

_RUNNER = Path(__file__).parent / "on_terminal.py"
_LEAVES_ALTERNATE_SCREEN = b"\x1b[?1049l"


def test_bytes_typed_ahead_are_kept_in_order_and_sigterm_leaves_properly(
    tmp_path: Path,
) -> None:
    terminal = Terminal([str(_RUNNER), str(tmp_path)], size=(80, 24))
    try:
        assert terminal.read_until(b"Feed isolated"), terminal.seen[-2000:]
        # The keypad's decimal key as the newer keyboard protocol sends it, and plain bytes.
        os.write(terminal.master, b"++34\x1b[57409u0\r-34.1\r12")
        assert terminal.read_until(b"read as 12"), terminal.seen[-2000:]
        terminal.program.send_signal(signal.SIGTERM)
        assert terminal.read_until(_LEAVES_ALTERNATE_SCREEN)
        terminal.read_until(b"never drawn", 1.0)
        assert terminal.program.wait(10) == 128 + signal.SIGTERM
    finally:
        terminal.close()
    (folder,) = tmp_path.glob("*teal*")
    lines = [(line.key, line.typed) for line in read_run(folder).run.sheet()]
    assert lines == [
        ("safe///1", "y"),
        ("safe///2", "y"),
        ("idle///rail_plus", "34.0"),
        ("idle///rail_minus", "-34.1"),
    ]
