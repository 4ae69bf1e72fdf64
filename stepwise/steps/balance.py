"""Channels that should be alike: this one against the first, in dB."""

from __future__ import annotations

from stepwise.judge import LimitFields, Result
from stepwise.quantities import Uncertain, propagate
from stepwise.steps.check import Checker, Path
from stepwise.steps.reading_fields import Balance, DeriveAsk, ReadingAsk
from stepwise.steps.work import PassWork


def balance_name(name: str) -> str:
    """Name of the difference between channels: "gain" -> "gain_balance"."""
    return f"{name}_balance"


def check_balance(ask: ReadingAsk | DeriveAsk, unit: str, path: Path, checker: Checker) -> None:
    """Report a comparison that makes no sense; make its name known.

    Args:
        ask: What is read or derived.
        unit: Its SI unit.
        path: Its place within the step.
        checker: Takes problems and names.
    """
    if ask.balance is False:
        return
    place = (*path, "balance")
    if unit not in ("V", "dB"):
        checker.add(place, f"channels are not compared in {unit or 'no unit'}", "in V or dB only")
    if isinstance(ask.balance, LimitFields):
        checker.limit(place, ask.balance, "dB")
    checker.names[balance_name(ask.name)] = "dB"


def enter_balance(ask: ReadingAsk | DeriveAsk, work: PassWork) -> None:
    """This channel against the first one for which the same was found."""
    if ask.balance is False or work.at.channel is None:
        return
    here = next((each for each in reversed(work.results) if each.name == ask.name), None)
    first = next(
        (
            each
            for each in work.known.by_name.get(ask.name, ())
            if each.step == work.at.step and each.channel not in (None, work.at.channel)
            and each.load == work.at.load
        ),
        None,
    )  # fmt: skip
    if here is None or first is None:
        return
    value = _apart(here, first)
    if value is None:
        return
    at = work.at
    work.results.append(
        Result(
            at.step, at.channel, at.load, None, balance_name(ask.name), value, "dB",
            f"{here.label} against {first.channel}",
            work.known.judge(value, _limit_of(ask.balance), "dB", at),
            basis=tuple(dict.fromkeys((*first.basis, *here.basis))),
        )
    )  # fmt: skip


def _apart(here: Result, first: Result) -> Uncertain | None:
    from stepwise.science import voltage_ratio_db

    if here.unit == "dB":
        return propagate(lambda a, b: a - b, here.measure, first.measure)
    try:
        return propagate(voltage_ratio_db, here.measure, first.measure)
    except ValueError:
        return None  # a level of nothing has no ratio


def _limit_of(balance: Balance) -> LimitFields | None:
    return balance if isinstance(balance, LimitFields) else None
