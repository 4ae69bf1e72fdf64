"""A slip: what was typed is read well, and is probably not what was meant."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Slip:
    """One answer in doubt, with the answer that was probably meant."""

    name: str
    """Short and stable, with hyphens: `peak-to-peak`, `multiplier`, `sign`."""
    says: str
    """One sentence that names the evidence."""
    meant: str = ""
    """What was probably meant, in bench notation; empty where nobody can know."""
    meant_echo: str = ""
    """What `meant` is read as."""
