"""Crosstalk with the noise's power taken off, and what is said near the noise."""

from __future__ import annotations

import math

import pytest

from stepwise.errors import FileProblems
from stepwise.judge import LimitFields, Result, Verdict
from stepwise.procedure import read_procedure_text
from stepwise.steps import ReadingsFields
from stepwise.steps.reading_fields import DeriveAsk, NoiseAsk, ReadingAsk
from tests.steps.conftest import Work, named

FORMULA = "20 * log10(undriven_level / level_open)"
QUIET = ReadingsFields(
    id="q", title="Q", repeat=("channel",),
    readings=(ReadingAsk(name="residual_noise", ask="Noise", unit="mV", meter="ac"),),
)  # fmt: skip
CROSSTALK = DeriveAsk(
    name="crosstalk",
    unit="dB",
    formula=FORMULA,
    without_noise=NoiseAsk(level="undriven_level", noise="residual_noise", channel="other"),
    label="Crosstalk",
    limit=LimitFields(max="-60 dB"),
)


def gain(derive: DeriveAsk) -> ReadingsFields:
    return ReadingsFields(
        id="g", title="G", repeat=("channel",),
        readings=(
            ReadingAsk(name="level_open", ask="Out", unit="V", meter="ac"),
            ReadingAsk(name="undriven_level", ask="Other", unit="mV", meter="ac"),
        ),
        derive=(derive,),
    )  # fmt: skip


def crosstalk(
    work: Work, undriven: str, noise: str | None, derive: DeriveAsk = CROSSTALK
) -> Result:
    """Of the left channel into the right one, whose noise counts."""
    typed = {"g/left//level_open": "2.825 V", "g/left//undriven_level": undriven}
    if noise is not None:
        typed |= {"q/left//residual_noise": "0.1 on 1 x0.001", "q/right//residual_noise": noise}
    return named(work([QUIET, gain(derive)], typed), "crosstalk")


def test_the_power_of_the_other_channels_noise_is_taken_off(work: Work) -> None:
    # Noises add in power: sqrt(683^2 - 358^2) = 581.7 uV, 73.73 dB under 2.825 V, not 72.33 dB.
    found = crosstalk(work, "0.683 on 1 x0.001", "0.358 on 1 x0.001")
    assert found.value == pytest.approx(20.0 * math.log10(581.656e-6 / 2.825), abs=1e-4)
    assert (found.label, found.remark) == ("Crosstalk", "")
    assert "q/right//residual_noise" in found.basis
    assert found.judgement.verdict is Verdict.IN_SPEC


def test_the_uncertainty_is_that_of_the_difference_in_power(work: Work) -> None:
    as_read = DeriveAsk(name="crosstalk", unit="dB", formula=FORMULA)
    cleared, plain = (
        crosstalk(
            work, "0.683 on 1 x0.001", "0.358 on 1 x0.001", derive
        ).measure.standard_uncertainty
        for derive in (CROSSTALK, as_read)
    )
    assert math.isfinite(cleared)
    assert cleared != pytest.approx(plain, rel=0.02)


@pytest.mark.parametrize(
    ("undriven", "bound"),
    [("0.360 on 1 x0.001", 360.0), ("0.358 on 1 x0.001", 358.0), ("0.300 on 1 x0.001", 358.0)],
)
def test_near_the_noise_it_is_at_most_so_much(work: Work, undriven: str, bound: float) -> None:
    found = crosstalk(work, undriven, "0.358 on 1 x0.001")
    assert found.value == pytest.approx(20.0 * math.log10(bound * 1e-6 / 2.825), abs=1e-6)
    assert found.label == "Crosstalk, at most"
    assert found.remark.startswith("Near the noise of")
    assert found.judgement.verdict is Verdict.IN_SPEC


def test_what_the_meter_cannot_tell_from_nothing_is_at_most_what_it_may_be(work: Work) -> None:
    # 3 % of full scale on 1 V are 30 mV, as everything below them is.
    found = crosstalk(work, "0.5 mV on 1", "0.3 mV on 1")
    most = 10.0 ** (found.value / 20.0) * 2.825
    assert 0.02 < most < 0.05
    assert found.label == "Crosstalk, at most"
    assert found.remark == "The meter cannot tell this from nothing, so it is at most this."
    assert found.measure.expanded_uncertainty < 1.0
    assert found.judgement.verdict is Verdict.NOTED


def test_a_ratio_to_what_may_be_nothing_has_no_level(work: Work) -> None:
    plain = DeriveAsk(name="crosstalk", unit="dB", formula=FORMULA)
    typed = {"g/left//level_open": "2.825 V", "g/left//undriven_level": "0.5 mV on 1"}
    assert "crosstalk" not in {each.name for each in work([QUIET, gain(plain)], typed)}


def test_a_bound_beyond_the_limit_does_not_miss_it(work: Work) -> None:
    # 20 mV of noise bounds it at -43 dB: it may be far below, and -60 dB may be met.
    assert crosstalk(work, "2.0 on 3 x0.01", "2.0 on 3 x0.01").judgement.verdict is Verdict.NOTED


def test_no_reading_at_all_is_bounded_by_the_noise(work: Work) -> None:
    found = crosstalk(work, "0 on 1 x0.001", "0.358 on 1 x0.001")
    assert found.value == pytest.approx(20.0 * math.log10(358e-6 / 2.825), abs=1e-6)


def test_without_a_noise_it_says_that_it_holds_it(work: Work) -> None:
    found = crosstalk(work, "0.683 on 1 x0.001", None)
    assert found.value == pytest.approx(-72.33, abs=0.01)
    assert "noise was not read" in found.remark


PROCEDURE = """\
[procedure]
title = "T"
revision = 1
summary = "t"
[[step]]
id = "g"
kind = "readings"
title = "G"
readings = [
 { name = "level_open", ask = "Out", unit = "V" },
 { name = "quiet", ask = "Noise", unit = "mA" },
]
derive = [{ name = "x", unit = "", from = "level_open / level_open", without_noise = WITHOUT }]
"""


@pytest.mark.parametrize(
    ("without", "said"),
    [
        ('{ level = "other", noise = "quiet" }', "the formula uses no “other”"),
        ('{ level = "level_open", noise = "quite" }', "nothing is called “quite”"),
        ('{ level = "level_open", noise = "quiet" }', "“quiet” is no part of it"),
    ],
)
def test_a_noise_that_is_none_is_told_when_the_file_is_read(without: str, said: str) -> None:
    with pytest.raises(FileProblems) as caught:
        read_procedure_text(PROCEDURE.replace("WITHOUT", without), "t")
    assert said in str(caught.value)
