"""A key that is held down, told from one that is pressed again."""

from __future__ import annotations

import math

_SHORTEST = 0.015
_LONGEST = 0.105
"""[s] Keyboards repeat a key that is held every 25 ms to 90 ms, give or take what terminals add;
a hand that presses the same key again takes 120 ms or more; what was typed ahead or sent at once
comes within some milliseconds (common practice, no source)."""


class HeldKey:
    """Looks at every key, and at when it came."""

    def __init__(self) -> None:
        self._key = ""
        self._at = -math.inf
        self._is_held = False

    def is_repeat(self, key: str, at: float) -> bool:
        """Whether a key comes of itself, since the one before is still held down.

        What comes of the keyboard's first repeat, about half a second after the press, cannot be
        told from a second press; all that follow it can, until there is a pause.

        Args:
            key: Character or name of the key.
            at: When the terminal delivered it [s], on any clock that only goes on.
        """
        apart = at - self._at
        is_near = key == self._key and apart <= _LONGEST
        self._is_held = is_near and (self._is_held or apart >= _SHORTEST)
        self._key, self._at = key, at
        return self._is_held
