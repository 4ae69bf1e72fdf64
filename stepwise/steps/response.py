"""What a row of levels shows: -1 dB and -3 dB points, corners, the capacitor behind them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from stepwise.quantities import Uncertain, from_terms, propagate
from stepwise.steps.work import PassWork

_FIT_FROM_DROP = 0.5
"""A corner is fitted once the end of the row has dropped this far [dB]: below it the drop is
of the order of what a pointer can tell, and the corner would be a guess."""


_ZERO_DB = Uncertain(0.0)


def _hertz(point: tuple[float, Uncertain, str]) -> float:
    return point[0]


@dataclass(frozen=True, slots=True)
class Response:
    """Levels in the order of their frequencies."""

    points: tuple[tuple[float, Uncertain, str], ...]
    """Frequency [Hz], level [dB], key of the prompt."""
    reference: float
    """[Hz]"""
    band: tuple[float, float] | None

    def frequencies(self) -> list[float]:
        """[Hz], ascending."""
        return [hertz for hertz, _, _ in self.points]

    def levels(self) -> list[Uncertain]:
        """[dB], in the order of the frequencies."""
        return [level for _, level, _ in self.points]

    def keys(self) -> tuple[str, ...]:
        """Keys of the prompts that were read."""
        return tuple(key for _, _, key in self.points if key)

    def side(self, side: Literal["low", "high"]) -> Response:
        """The points on one side, with the reference: 0 dB there is what the levels mean."""
        keep = [
            point
            for point in self.points
            if (point[0] < self.reference if side == "low" else point[0] > self.reference)
        ]
        read_there = [point for point in self.points if point[0] == self.reference]
        keep.extend(read_there or [(self.reference, _ZERO_DB, "")])
        return Response(tuple(sorted(keep, key=_hertz)), self.reference, self.band)


def work_out_response(
    response: Response, work: PassWork, input_resistance: Uncertain | None
) -> None:
    """Enter everything that the row shows."""
    for side in ("low", "high"):
        for drop in (1.0, 3.0):
            _crossing(response, work, side, drop)
        _corner(response, work, side)
    _capacitor(work, input_resistance)
    _flatness(response, work)


def _crossing(
    response: Response, work: PassWork, side: Literal["low", "high"], drop: float
) -> None:
    from stepwise.science import crossing_hertz

    half = response.side(side)
    frequencies = half.frequencies()
    if len(frequencies) < 2:
        return

    def crossing(*levels: float) -> float:
        hertz = crossing_hertz(frequencies, levels, drop, side)
        if hertz is None:
            raise ValueError("the row never falls that far")
        return hertz

    name = f"minus_{drop:.0f}db_{side}"
    label = f"-{drop:.0f} dB, {side} end"
    inputs = tuple((level, key) for _, level, key in half.points)
    work.compute(name, label, "Hz", crossing, *inputs)


def _corner(response: Response, work: PassWork, side: Literal["low", "high"]) -> None:
    """A first-order corner fitted to one side, where that side falls far enough to show one."""
    from stepwise.science import fit_first_order_high, fit_first_order_low

    half = response.side(side)
    levels = half.levels()
    if len(levels) < 2:
        return
    end = levels[0] if side == "low" else levels[-1]
    if end.value > -_FIT_FROM_DROP:
        return
    frequencies = half.frequencies()
    spread = [max(level.standard_uncertainty, 0.05) for level in levels]
    fit = fit_first_order_low if side == "low" else fit_first_order_high

    def corner(*values: float) -> float:
        nudged = fit(frequencies, values, spread)
        if nudged is None:
            raise ValueError("no first-order corner fits")
        return nudged.corner_hertz

    centre = fit(frequencies, [level.value for level in levels], spread)
    if centre is None:
        return
    value = propagate(corner, *levels)
    freedom = max(len(levels) - 1, 1)
    misfit = max(centre.chi_square / freedom - 1.0, 0.0) ** 0.5
    # Points that a first-order curve does not meet widen the corner by as much as they miss it.
    doubt = misfit * centre.standard_hertz
    value = from_terms(value.value, [*value.terms.items(), (f"{work.at.key} {side} shape", doubt)])
    work.put(f"corner_{side}", f"Corner, {side} end", value, "Hz", half.keys())


def _capacitor(work: PassWork, input_resistance: Uncertain | None) -> None:
    """The coupling capacitor that a low corner stands for, and the one that would cure it."""
    from stepwise.science import coupling_capacitance

    corner = next((each for each in work.results if each.name == "corner_low"), None)
    if corner is None or input_resistance is None:
        return
    value = propagate(coupling_capacitance, corner.measure, input_resistance)
    work.put("coupling_capacitance", "Coupling capacitor implied", value, "F", corner.basis)
    _cure(work, input_resistance, corner.basis)


def _cure(work: PassWork, input_resistance: Uncertain, basis: tuple[str, ...]) -> None:
    """The smallest preferred value that brings the -3 dB point within its limit."""
    from stepwise.science import coupling_capacitance, next_preferred_up

    point = next((each for each in work.results if each.name == "minus_3db_low"), None)
    limit = point.judgement.limit if point is not None else None
    if point is None or limit is None or limit.high is None or point.value <= limit.high:
        return
    needed = coupling_capacitance(limit.high, input_resistance.value)
    value = Uncertain(next_preferred_up(needed, "E6"))
    work.put("cure_capacitance", "Capacitor that would do", value, "F", basis)


def _flatness(response: Response, work: PassWork) -> None:
    from stepwise.science import flatness_db

    if response.band is None:
        return
    low, high = response.band
    inside = [point for point in response.points if low <= point[0] <= high]
    if len(inside) < 2:
        return
    frequencies = [hertz for hertz, _, _ in inside]

    def flatness(*levels: float) -> float:
        return flatness_db(frequencies, levels, low, high)

    inputs = tuple((level, key) for _, level, key in inside)
    work.compute("flatness", "Flatness in the band", "dB", flatness, *inputs)
