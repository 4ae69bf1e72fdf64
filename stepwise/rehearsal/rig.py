"""The rig: the board, the bench as it really is, and the person who reads it.

A fault is a change of one of the three; faults compose because each change gives a new rig.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from stepwise.rehearsal.amplifier import Channel
from stepwise.rehearsal.board import Board
from stepwise.rehearsal.mistakes import Mistake
from stepwise.rehearsal.setup import Setup


@dataclass(frozen=True, slots=True)
class Rig:
    """Everything that decides what is typed, but for chance."""

    board: Board
    setup: Setup = field(default_factory=Setup)
    mistakes: tuple[Mistake, ...] = ()
    """What the person gets wrong, once each."""

    def with_each_channel(self, change: Callable[[Channel], Channel]) -> Rig:
        """The same rig with every channel changed alike."""
        return self.with_channels(tuple(change(each) for each in self.board.channels))

    def with_last_channel(self, change: Callable[[Channel], Channel]) -> Rig:
        """The same rig with its last channel changed, which shows as a difference too."""
        *others, last = self.board.channels
        return self.with_channels((*others, change(last)))

    def with_channels(self, channels: tuple[Channel, ...]) -> Rig:
        """The same rig with other channels."""
        return replace(self, board=replace(self.board, channels=channels))
