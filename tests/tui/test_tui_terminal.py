"""The sheet in a real pseudo-terminal: bytes in, journal out, terminal left as it was."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from stepwise.run import read_run

pty = pytest.importorskip("pty", reason="pseudo-terminals are of POSIX only")

_RUNNER = Path(__file__).parent / "on_terminal.py"
_LEAVES_ALTERNATE_SCREEN = b"\x1b[?1049l"


class Terminal:
    """A program on a pseudo-terminal of 80 by 24."""

    def __init__(self, folder: Path) -> None:
        import fcntl
        import struct
        import termios

        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        root = str(_RUNNER.parents[2])
        env = {**os.environ, "TERM": "xterm-256color", "PYTHONPATH": root}
        self.program = subprocess.Popen(
            [sys.executable, str(_RUNNER), str(folder)],
            stdin=slave, stdout=slave, stderr=slave, env=env, start_new_session=True,
        )  # fmt: skip
        os.close(slave)
        self.seen = b""

    def read_until(self, marker: bytes, seconds: float = 20.0) -> bool:
        """Read what is drawn until a marker comes, or the program is gone."""
        end = time.monotonic() + seconds
        while marker not in self.seen and time.monotonic() < end:
            ready, _, _ = select.select([self.master], [], [], 0.1)
            if not ready:
                continue
            try:
                self.seen += os.read(self.master, 65536)
            except OSError:  # the other end is closed: the program has left
                break
        return marker in self.seen

    def close(self) -> None:
        """End what this test started."""
        if self.program.poll() is None:
            self.program.kill()
        self.program.wait()
        os.close(self.master)


def test_bytes_typed_ahead_are_kept_in_order_and_sigterm_leaves_properly(
    tmp_path: Path,
) -> None:
    terminal = Terminal(tmp_path)
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
