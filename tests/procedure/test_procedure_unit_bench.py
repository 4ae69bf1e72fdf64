"""Units and benches: read, refused with every fault, and written back the same."""

from __future__ import annotations

import tomllib
from types import MappingProxyType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stepwise.bench import (
    RATINGS,
    Accuracy,
    Bench,
    Claim,
    Detector,
    Load,
    Meter,
    MeterType,
    Oscillator,
    ScaleResolution,
    Supply,
    Unit,
)
from stepwise.errors import FileProblems
from stepwise.procedure import (
    bench_to_toml,
    questions_on,
    read_bench_text,
    read_unit_text,
    unit_to_toml,
)
from stepwise.procedure.models import RatingsFields
from stepwise.quantities import Form

UNIT = """\
[unit]
name = "Teal"
channels = ["left", "right"]
[ratings]
reservoir_rating = "50 V"
minimum_load = "4 ohm"
input_resistance = "22 kohm"
[[claim]]
power = "60 W"
load = "4 ohm"
distortion = "10 %"
"""
BENCH = """\
[bench]
name = "Hall workshop"
[[meter]]
id = "ac"
type = "analogue"
reads = "V rms"
ranges = ["10 V", "1 V", "3 V"]
accuracy = "3 % of full scale"
resolves = "1/4 division of 30"
detector = "average"
[[meter]]
id = "dc"
type = "digital"
accuracy = "0.5 % + 2 digits"
[[load]]
nominal = "8 ohm"
measured = "8.06 ohm"
uncertainty = "0.5 %"
rating = "100 W"
[supply]
secondary = "24 V"
windings = 2
rating = "160 VA"
"""


def test_a_unit_is_read_in_si() -> None:
    unit = read_unit_text(UNIT, "teal.toml")
    assert unit.ratings == {
        "reservoir_rating": 50.0,
        "minimum_load": 4.0,
        "input_resistance": 22e3,
    }
    assert unit.claims == (Claim(60.0, 4.0, 10.0),)
    assert read_unit_text(unit_to_toml(unit), "x.toml") == unit


def test_a_bench_is_read_in_si_with_its_ranges_in_order() -> None:
    bench = read_bench_text(BENCH, "hall.toml")
    assert bench.meters[0] == Meter(
        "ac",
        MeterType.ANALOGUE,
        Accuracy(of_scale=0.03),
        "V",
        Form.RMS,
        (1.0, 3.0, 10.0),
        ScaleResolution(0.25, 30.0),
        Detector.AVERAGE,
    )
    assert bench.meters[1].accuracy == Accuracy(of_reading=0.005, digits=2.0)
    assert bench.loads == (Load(8.0, 8.06, 0.005, 100.0),)
    assert bench.supply == Supply("transformer", 24.0, 2, 160.0, 50.0)
    assert read_bench_text(bench_to_toml(bench), "x.toml") == bench


@pytest.mark.parametrize(
    ("old", "new", "doubt"),
    [
        ('uncertainty = "0.5 %"\n', "", 0.01),
        ('measured = "8.06 ohm"\nuncertainty = "0.5 %"\n', "", 0.05),
        ('uncertainty = "0.5 %"', 'uncertainty = "0.0403 ohm"', 0.005),
    ],
    ids=["measured", "not measured", "as an amount"],
)
def test_a_load_is_never_taken_as_perfect(old: str, new: str, doubt: float) -> None:
    load = read_bench_text(BENCH.replace(old, new), "b.toml").loads[0]
    assert load.relative_uncertainty == pytest.approx(doubt, rel=1e-12)


def test_every_rating_can_be_stated() -> None:
    assert set(RatingsFields.__struct_fields__) == set(RATINGS)


UNIT_CASES = {
    "no name": (
        UNIT.replace('name = "Teal"\n', ""),
        ['u.toml:1: unit: “name” is missing; write name = "…"'],
    ),
    "several at once": (
        UNIT.replace("minimum_load", "minimum_laod")
        .replace('"50 V"', '"50 A"')
        .replace('"60 W"', '"-60 W"'),
        [
            "u.toml:5: ratings.reservoir_rating: “50 A” is A (current); give V (voltage)",
            "u.toml:6: ratings.minimum_laod: is not a known key; did you mean “minimum_load”?",
            "u.toml:9: claim 1, power: “-60 W” is not above zero; give more than nothing",
        ],
    ),
    "channel twice": (
        UNIT.replace('"right"', '"left"'),
        ["u.toml:3: unit.channels 2: “left” stands twice; name each channel once"],
    ),
    "channel with a slash": (
        UNIT.replace('"right"', '"a/b"'),
        ["u.toml:3: unit.channels 2: “a/b” is no name for a channel; write a word, such as left"],
    ),
    "loads crossed": (
        UNIT.replace('minimum_load = "4 ohm"', 'minimum_load = "8 ohm"\nmaximum_load = "4 ohm"'),
        ["u.toml:7: ratings.maximum_load: is below minimum_load; swap the two"],
    ),
}


@pytest.mark.parametrize(("text", "sentences"), UNIT_CASES.values(), ids=UNIT_CASES.keys())
def test_a_faulty_unit_tells_all(text: str, sentences: list[str]) -> None:
    with pytest.raises(FileProblems) as caught:
        read_unit_text(text, "u.toml")
    assert str(caught.value).splitlines() == sentences


BENCH_CASES = {
    "type": (
        BENCH.replace("analogue", "analog"),
        ['b.toml:5: meter "ac", type: “analog” is not known here; did you mean “analogue”?'],
    ),
    "form": (
        BENCH.replace("V rms", "V rsm"),
        [
            'b.toml:6: meter "ac", reads: “rsm” is not a form of reading; '
            "write for instance V rms, V dc, ohm or C"
        ],
    ),
    "accuracy of another kind": (
        BENCH.replace("0.5 % + 2 digits", "0.5 % + 1 C"),
        [
            'b.toml:14: meter "dc", accuracy: “0.5 % + 1 C” has an amount of another kind; '
            "give the amount in V, as the meter reads"
        ],
    ),
    "a meter for decibels, and one that is off by half": (
        BENCH.replace('"V rms"', '"dB"')
        .replace('ranges = ["10 V", "1 V", "3 V"]\n', "")
        .replace("0.5 % + 2 digits", "50 %"),
        [
            'b.toml:6: meter "ac", reads: “dB” is no unit that an instrument reads: a level is a '
            "ratio; write what its scale is in, such as V rms; decibel_step is for its dB scale",
            'b.toml:13: meter "dc", accuracy: “50 %” is more than any meter is off by; write what '
            "its maker states, such as 3 % of full scale, or 0.5 % + 2 digits",
        ],
    ),
    "range of another kind, and twice": (
        BENCH.replace('"1 V", "3 V"', '"1 A", "10 V"'),
        [
            'b.toml:7: meter "ac", ranges 2: “1 A” is A (current); give V (voltage)',
            'b.toml:7: meter "ac", ranges 3: “10 V” stands twice; leave one out',
        ],
    ),
    "same id": (
        BENCH.replace('"dc"', '"ac"'),
        ['b.toml:12: meter "ac", id: meter 1 has that id too; give each its own'],
    ),
    "same load": (
        BENCH + '[[load]]\nnominal = "8.0 ohm"\n',
        [
            'b.toml:25: load "8.0 ohm", nominal: load 1 is 8 ohm too; '
            "procedures tell loads apart by it; leave one out"
        ],
    ),
    "measured elsewhere": (
        BENCH.replace("8.06 ohm", "80.6 ohm"),
        [
            'b.toml:17: load "8 ohm", measured: “80.6 ohm” is far from the nominal “8 ohm”; '
            "measure again, or call it by its true value"
        ],
    ),
    "three at once": (
        BENCH.replace("windings = 2", 'windings = "2"')
        .replace('0.5 %"\nrating', '150 %"\nrating')
        .replace("160 VA", "160 W"),
        [
            'b.toml:18: load "8 ohm", uncertainty: “150 %” is not between 0 % and 100 %; '
            "write for instance 0.5 %",
            "b.toml:22: supply.windings: is the text “2” where a whole number is expected; "
            "write it without quotes and without a point",
            "b.toml:23: supply.rating: “160 W” is W (power); give VA (apparent power)",
        ],
    ),
}


@pytest.mark.parametrize(("text", "sentences"), BENCH_CASES.values(), ids=BENCH_CASES.keys())
def test_a_faulty_bench_tells_all(text: str, sentences: list[str]) -> None:
    with pytest.raises(FileProblems) as caught:
        read_bench_text(text, "b.toml")
    assert str(caught.value).splitlines() == sentences


_WORDS = st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=20).filter(
    lambda text: text.strip() != ""
)
_CHANNELS = st.lists(
    _WORDS.filter(lambda text: "/" not in text and text == text.strip()),
    min_size=1,
    max_size=4,
    unique=True,
)
_POSITIVE = st.floats(1e-9, 1e9)
_SHARES = st.floats(0.0, 100.0).map(lambda percent: round(percent, 6) / 100.0)
"""Shares come from per cent, in files and in forms."""


@st.composite
def _units(draw: st.DrawFn) -> Unit:
    ratings = draw(st.dictionaries(st.sampled_from(sorted(RATINGS)), _POSITIVE))
    if "minimum_load" in ratings and "maximum_load" in ratings:
        ratings["maximum_load"] += ratings["minimum_load"]
    claims = st.builds(Claim, _POSITIVE, st.none() | _POSITIVE, st.none() | st.floats(1e-3, 100.0))
    return Unit(
        draw(_WORDS),
        tuple(draw(_CHANNELS)),
        MappingProxyType(ratings),
        tuple(draw(st.lists(claims, max_size=3))),
        draw(st.text("ab\"\\'#\n\t€", max_size=20)),
        remarks=draw(st.text("ab\"\\'#\n\t€", max_size=50)),
    )


@st.composite
def _benches(draw: st.DrawFn) -> Bench:
    meters = st.builds(
        Meter,
        st.sampled_from(["ac", "dc", "t-1"]),
        st.sampled_from(MeterType),
        st.builds(Accuracy, _SHARES, _SHARES, st.integers(0, 99).map(float), _POSITIVE),
        st.sampled_from(["V", "A"]),
        st.sampled_from(Form),
        st.lists(_POSITIVE, max_size=4, unique=True).map(lambda each: tuple(sorted(each))),
        st.none()
        | st.builds(
            ScaleResolution,
            st.integers(1, 20).map(lambda n: 1.0 / n),
            st.integers(1, 200).map(float),
        ),
        st.sampled_from(Detector),
        st.none() | st.integers(9, 10**6),
        st.floats(0.01, 3.0),
        _WORDS,
    )
    loads = st.builds(
        lambda nominal, ratio, doubt, rating: Load(nominal, nominal * ratio, doubt, rating),
        st.sampled_from([2.0, 2.7, 4.0, 8.0, 16.0]),
        st.floats(0.6, 1.9),
        _SHARES,
        st.none() | _POSITIVE,
    )
    supply = st.builds(
        Supply, _WORDS, st.none() | _POSITIVE, st.integers(1, 12), st.none() | _POSITIVE,
        st.floats(10.0, 500.0),
    )  # fmt: skip
    return Bench(
        draw(_WORDS),
        tuple(draw(st.lists(meters, max_size=3, unique_by=lambda meter: meter.id))),
        tuple(draw(st.lists(loads, max_size=3, unique_by=lambda load: load.nominal))),
        draw(supply),
        draw(st.builds(Oscillator, st.just(0.0) | _POSITIVE, _SHARES)),
    )


@settings(max_examples=80, deadline=None, derandomize=True)
@given(_units())
def test_what_is_written_of_a_unit_reads_back_the_same(unit: Unit) -> None:
    text = unit_to_toml(unit)
    assert tomllib.loads(text)["unit"]["name"] == unit.name
    assert read_unit_text(text, "u.toml") == unit


@settings(max_examples=80, deadline=None, derandomize=True)
@given(_benches())
def test_what_is_written_of_a_bench_reads_back_the_same(bench: Bench) -> None:
    # Also one that no bench has: what is written of it says the same.
    assert read_bench_text(bench_to_toml(bench), "b.toml", is_recorded=True) == bench


def test_a_log_of_a_bench_that_is_asked_about_today_can_still_be_read() -> None:
    odd = BENCH.replace("0.5 % + 2 digits", "50 %")
    bench = read_bench_text(odd, "b.toml", is_recorded=True)
    assert bench.meters[1].accuracy == Accuracy(of_reading=0.5)


@pytest.mark.parametrize(
    ("accuracy", "asked"),
    [
        ("25 %", ("meter “dc” may be off by 25 % of reading: is that meant?",)),
        ("20 % of full scale", ("meter “dc” may be off by 20 % of full scale: is that meant?",)),
        ("19 %", ()),
    ],
)
def test_an_accuracy_that_is_poor_is_asked_about(accuracy: str, asked: tuple[str, ...]) -> None:
    bench = read_bench_text(BENCH.replace("0.5 % + 2 digits", accuracy), "b.toml")
    assert questions_on(bench) == asked
