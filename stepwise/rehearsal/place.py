"""What a prompt says of the place where it is read: load, tone, capacitor, level, time."""

from __future__ import annotations

from dataclasses import dataclass

from stepwise.bench import Bench, Load
from stepwise.errors import StepwiseError
from stepwise.quantities import require
from stepwise.run import Card
from stepwise.steps import Prompt, Setting

_WAVES = (" sine", " square")
_USUAL_TONE = 1e3
_USUAL_BELOW_CLIP_DB = 10.0
_USUAL_SQUARE_VOLTS = 10.0


@dataclass(frozen=True, slots=True)
class Look:
    """One thing to be read from one picture of a square wave."""

    hertz: float
    across_farads: float
    feature: str


def load_of(prompt: Prompt, bench: Bench) -> Load | None:
    """The load that is connected; None where the prompt names none that the bench has."""
    if prompt.of.load is not None:
        return bench.load(prompt.of.load)
    said = setting(prompt.settings, "load")
    return next((load for load in bench.loads if said in (load.title, load.label)), None)


def kindest_load(bench: Bench) -> Load | None:
    """The load that is tried first: the one of most ohms."""
    return max(bench.loads, key=lambda load: load.nominal, default=None)


def tone_of(prompt: Prompt) -> float:
    """Frequency that is set [Hz]; 1 kHz where the prompt says nothing that can be read."""
    said = setting(prompt.settings, "tone")
    for wave in _WAVES:
        said = said.removesuffix(wave)
    value = _quantity(said, "Hz")
    return _USUAL_TONE if value is None else value


def look_of(prompt: Prompt) -> Look | None:
    """The picture that a square-wave prompt is about: its point is tone/capacitor/what."""
    tone, _, rest = prompt.point.partition("/")
    capacitor, _, feature = rest.rpartition("/")
    hertz = _quantity(tone, "Hz")
    farads = 0.0 if capacitor == "none" else _quantity(capacitor, "F")
    if hertz is None or farads is None:
        return None
    return Look(hertz, farads, feature)


def time_of(prompt: Prompt) -> float | None:
    """Seconds after the start at which a temperature is read [s]; None for now."""
    _, joint, time = prompt.point.rpartition(" at ")
    return _quantity(time, "s") if joint else None


def sweep_volts(card: Card, clean_volts: float) -> float:
    """Level that the card asks for at the reference [V RMS], never beyond the clean level.

    Args:
        card: Says "about 6.3 V RMS at 1 kHz", or "10 dB below clipping".
        clean_volts: The largest clean level [V RMS].
    """
    said = setting(card.settings, "level")
    volts = _quantity(said.removeprefix("about ").partition(" RMS")[0], "V")
    if volts is not None and volts > 0.0:
        return min(volts, clean_volts)
    below = _quantity(said.partition(" below")[0], "dB")
    below = _USUAL_BELOW_CLIP_DB if below is None else abs(below)
    return float(clean_volts * 10.0 ** (-below / 20.0))


def square_volts(prompt: Prompt) -> float:
    """Height of the square wave that is set, from low to high [V]."""
    said = setting(prompt.settings, "level").removesuffix(" peak-to-peak")
    volts = _quantity(said, "V")
    return _USUAL_SQUARE_VOLTS if volts is None or volts <= 0.0 else volts


def setting(settings: tuple[Setting, ...], what: str) -> str:
    """What is to be set to what; empty where nothing is said."""
    return next((each.to for each in settings if each.what == what), "")


def _quantity(text: str, unit: str) -> float | None:
    try:
        return require(text, unit)
    except StepwiseError:
        return None  # settings are words for people; not all of them are quantities
