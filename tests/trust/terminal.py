"""A program on a pseudo-terminal, and what stands on its glass."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]
COLUMNS, ROWS = 100, 30


class Terminal:
    """A program that draws on a terminal which we read; bytes in, bytes out."""

    def __init__(
        self,
        arguments: Sequence[str],
        more_env: Mapping[str, str] | None = None,
        size: tuple[int, int] = (COLUMNS, ROWS),
    ) -> None:
        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        env = {**os.environ, "TERM": "xterm-256color", "PYTHONPATH": str(ROOT), **(more_env or {})}
        self.program = subprocess.Popen(
            [sys.executable, *arguments],
            stdin=slave, stdout=slave, stderr=slave, env=env, start_new_session=True,
        )  # fmt: skip
        os.close(slave)
        self.seen = bytearray()
        self.is_gone = False

    def read(self, seconds: float) -> bytes:
        """Read what is drawn within some seconds; empty where nothing came."""
        ready, _, _ = select.select([self.master], [], [], seconds)
        if not ready:
            return b""
        try:
            drawn = os.read(self.master, 65536)
        except OSError:  # the other end is closed: the program has left
            drawn = b""
        self.is_gone = self.is_gone or not drawn
        self.seen += drawn
        return drawn

    def read_until(self, marker: bytes, seconds: float = 20.0) -> bool:
        """Read until a marker was drawn, or the program is gone."""
        return self.watch(lambda seen: marker in seen, seconds)

    def watch(self, wanted: Callable[[bytearray], bool], seconds: float) -> bool:
        """Read until what was drawn is as wanted, the time is up, or the program is gone."""
        end = time.monotonic() + seconds
        while not wanted(self.seen) and time.monotonic() < end and not self.is_gone:
            self.read(0.05)
        return wanted(self.seen)

    def write(self, keys: bytes) -> None:
        """Type, in as many goes as the terminal takes; what is drawn meanwhile is read."""
        left = memoryview(keys)
        while left and not self.is_gone:
            _, writable, _ = select.select([], [self.master], [], 0.05)
            if writable:
                left = left[os.write(self.master, left[:512]) :]
            self.read(0.0)

    def kill(self) -> None:
        """End the program as no program can prevent, then read what it had drawn before."""
        os.kill(self.program.pid, signal.SIGKILL)
        self.program.wait()
        while self.read(0.02):
            continue

    def close(self) -> None:
        """End what is still running."""
        if self.program.poll() is None:
            self.program.kill()
        self.program.wait()
        os.close(self.master)
