"""What a run comes to, picked out of its results: the ground for headlines, talk and cards."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stepwise.bench import Claim
from stepwise.judge import Flag, Result, Verdict
from stepwise.quantities import format_value
from stepwise.run import Review, Run
from stepwise.steps import claim_verdict, is_met

_GRAVITY = (Verdict.OUT_OF_SPEC, Verdict.TOO_CLOSE, Verdict.IN_SPEC, Verdict.NOTED)


@dataclass(frozen=True, slots=True)
class Powers:
    """Clean powers into one load."""

    load: str
    """As it stands in keys: "8 ohm"."""
    clean: tuple[Result, ...]
    """One for each channel [W]."""
    loud: tuple[Result, ...]
    """At 10 % [W]."""
    claim: Claim | None

    @property
    def claimed(self) -> str:
        """The claim in figures, "60 W at 10 %"; empty where there is none."""
        return "" if self.claim is None else f"{format_value(self.claim.power, 'W')}{self.claim.at}"

    @property
    def claim_verdict(self) -> Verdict | None:
        """What comes of the claim on the worst channel.

        None without a claim, and where a power that it is about was not read: clean power that
        reaches a claim at 10 % meets it, clean power that does not says nothing of it.
        """
        claim = self.claim
        if claim is None:
            return None
        about = {each.channel: each for each in (self.loud if claim.is_clipped else self.clean)}
        verdicts: set[Verdict | None] = {
            claim_verdict(each.measure, claim) for each in about.values()
        }
        verdicts |= {
            None
            for each in self.clean
            if each.channel not in about and not is_met(each.measure, claim)
        }
        worst = (Verdict.OUT_OF_SPEC, None, Verdict.TOO_CLOSE)
        return next((each for each in worst if each in verdicts), Verdict.IN_SPEC)

    @property
    def weakest(self) -> Result:
        """The channel that gives least."""
        return min(self.clean, key=lambda result: result.value)

    @property
    def gravest(self) -> Result:
        """The channel whose clean power is judged worst; without a limit the weakest."""
        worst = gravest(self.clean)
        return self.weakest if worst is None or worst.judgement.limit is None else worst


@dataclass(frozen=True, slots=True)
class Gist:
    """The results that people ask for first; each None or empty where it was not measured."""

    unit: str
    channels: tuple[str, ...]
    powers: tuple[Powers, ...]
    """Kindest load first."""
    low_end: Result | None
    """The -3 dB point of the channel that falls away first [Hz]."""
    high_end: Result | None
    flatness: Result | None
    offset: Result | None
    noise: Result | None
    gain: Result | None
    damping: Result | None
    sag: Result | None
    """The largest sag of any supply voltage [%]."""
    overshoot: Result | None
    ringing: Result | None
    rise: Result | None
    hottest: Result | None
    flags: tuple[Flag, ...]
    missed: tuple[Result, ...]
    """Out of spec."""
    close: tuple[Result, ...]
    """Too close to call."""
    judged: int
    """How many results were held against a limit."""


def gist_of(run: Run, review: Review) -> Gist:
    """Pick out what people ask for first."""
    results = review.results
    judged = [each for each in results if each.judgement.limit is not None]
    return Gist(
        unit=run.plan.unit.name,
        channels=run.plan.unit.channels,
        powers=_powers(run, results),
        low_end=_most(results, "minus_3db_low"),
        high_end=_least(results, "minus_3db_high"),
        flatness=_most(results, "flatness"),
        offset=_widest(results, "offset"),
        noise=_most(results, "residual_noise"),
        gain=_least(results, "gain"),
        damping=_least(results, "damping_factor"),
        sag=_most(results, "sag"),
        overshoot=_most(results, "overshoot"),
        ringing=_most(results, "ringing_cycles"),
        rise=_most(results, "rise_time"),
        hottest=_most(results, "temperature"),
        flags=review.flags,
        missed=tuple(each for each in judged if each.judgement.verdict is Verdict.OUT_OF_SPEC),
        close=tuple(each for each in judged if each.judgement.verdict is Verdict.TOO_CLOSE),
        judged=len(judged),
    )


def _powers(run: Run, results: Sequence[Result]) -> tuple[Powers, ...]:
    found = []
    for load in run.plan.scene.loads():
        clean = _at_load(results, "power", load.label)
        if clean:
            claim = run.plan.unit.claim_for(load.nominal)
            found.append(
                Powers(
                    load.label,
                    clean,
                    _at_load(results, "power_at_ten_percent", load.label),
                    claim,
                )
            )
    return tuple(found)


def _at_load(results: Sequence[Result], name: str, load: str) -> tuple[Result, ...]:
    """One for each channel; where a clip test was made twice, the later one."""
    latest: dict[str | None, Result] = {}
    for result in results:
        if result.name == name and result.load == load:
            latest[result.channel] = result
    return tuple(latest.values())


def _named(results: Iterable[Result], name: str) -> list[Result]:
    return [result for result in results if result.name == name]


def _most(results: Sequence[Result], name: str) -> Result | None:
    return max(_named(results, name), key=lambda result: result.value, default=None)


def _least(results: Sequence[Result], name: str) -> Result | None:
    return min(_named(results, name), key=lambda result: result.value, default=None)


def _widest(results: Sequence[Result], name: str) -> Result | None:
    return max(_named(results, name), key=lambda result: abs(result.value), default=None)


def gravest(results: Sequence[Result]) -> Result | None:
    """The result whose verdict outweighs the others, of alike ones the least likely in spec.

    None where there is none that was taken.
    """
    taken = [each for each in results if each.judgement.verdict in _GRAVITY]
    return min(taken, key=_gravity, default=None)


def _gravity(result: Result) -> tuple[int, float]:
    judgement = result.judgement
    likely = 1.0 if judgement.probability is None else judgement.probability
    return (_GRAVITY.index(judgement.verdict), likely)
