"""Slips of reading: caught before a reading is kept, with the value that was probably meant."""

from __future__ import annotations

from stepwise.judge.slips.slip import Slip

__all__ = ["Slip"]
