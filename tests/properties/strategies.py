"""Strategies shared by the property tests."""

from __future__ import annotations

from hypothesis import strategies as st

from stepwise.quantities import Answer, Expected, Form, Uncertain, Understood, parse_entry

_FORMS = {"V": list(Form), "mV": list(Form), "A": list(Form), "mA": [Form.PLAIN, Form.DC]}
_UNITS = [
    "V",
    "mV",
    "A",
    "W",
    "ohm",
    "kohm",
    "Hz",
    "kHz",
    "F",
    "uF",
    "nF",
    "H",
    "s",
    "min",
    "C",
]
_MORE_UNITS = ["K", "dB", "%", "VA", "div", "K/W", "V/us", ""]
_RANGES = [(), (3.0,), (0.3, 1.0, 3.0, 10.0), (0.003, 0.01, 3.0)]

FRAGMENTS = [
    "2.0", "20", "0", ".5", "1,5", "1,000", "48", "-", "+", "=", " on ", "/", " x10", "x", "*",
    "V", "mV", "Vpp", " V RMS", " p-p", "pk", " DC", "dB", " div", " at ", "5", "k", "K", "m",
    "M", "u", "µ", "p", "R", "Ω", "ohm", "Hz", "F", "C", "°C", "%", "of", " range", "the ",
    "flat", "none", "warm", "too hot", "y", "e3", "e-3", "e", "inf", "nan", "٣", "½", " ", "\t",
    "\n", "\x00", "±", ".", ",", "'", "_", "1k5", "4R7", "2u2", "×", "−", "[/]", "🙂",
]  # fmt: skip


@st.composite
def expectations(draw: st.DrawFn) -> Expected:
    """Prompts of every kind, some with a reading to repeat and a reference."""
    answer = draw(st.sampled_from(list(Answer)))
    unit = draw(st.sampled_from(_UNITS + _MORE_UNITS)) if answer is Answer.QUANTITY else ""
    form = draw(st.sampled_from(_FORMS.get(unit, [Form.PLAIN])))
    expected = Expected(
        answer,
        unit,
        form,
        meter=draw(st.sampled_from(["", "ac"])),
        ranges=draw(st.sampled_from(_RANGES)),
        reference_volts=draw(st.sampled_from([None, 0.0, 20.0])),
    )
    if not draw(st.booleans()):
        return expected
    last = parse_entry(draw(st.sampled_from(["20", "2.0 on 3 x10", "0"])), expected)
    if not isinstance(last, Understood):
        return expected
    return Expected(
        answer, unit, form, expected.meter, expected.ranges, last, expected.reference_volts
    )


def entries() -> st.SearchStrategy[str]:
    """Anything that a hand, a cat or a pasted file may put into the entry."""
    pieces = st.lists(st.sampled_from(FRAGMENTS), max_size=9).map("".join)
    return st.one_of(pieces, pieces, st.text(max_size=120))


def uncertain_values() -> st.SearchStrategy[Uncertain]:
    """Values with terms from a handful of sources, so that pairs share some."""
    terms = st.dictionaries(
        st.sampled_from(["meter", "load", "eye", "gain"]),
        st.floats(-0.05, 0.05, allow_nan=False),
        max_size=4,
    )
    return st.builds(Uncertain, st.floats(1.0, 100.0), terms)
