from __future__ import annotations

from collections.abc import Mapping
from dataclasses import FrozenInstanceError, fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stepwise.journal import Event, RecordState, StateBuilder, extend, fold

ANSWERS = ["reading", "confirm", "refuse", "skip"]

kinds = st.sampled_from(
    [
        *ANSWERS,
        "begin",
        "withdraw",
        "note",
        "tone",
        "attach",
        "doubt",
        "flag",
        "resume",
        "end",
        "sparkle",
    ]
)
data = st.fixed_dictionaries(
    {},
    optional={
        "key": st.sampled_from(["a", "b", "c", 7]),
        "typed": st.sampled_from(["2.0", "flat", None]),
        "reason": st.just("too hot"),
        "text": st.sampled_from(["fan", 1]),
        "state": st.sampled_from(["on", "off", "loud"]),
        "name": st.just("attached-01-a.csv"),
        "sha256": st.just("0" * 64),
        "slip": st.sampled_from(["sign", 3]),
        "meant": st.sampled_from(["-2.0", None]),
    },
)


def number(happened: list[tuple[str, dict[str, object]]]) -> list[Event]:
    return [
        Event(seq, f"2026-05-01T09:00:{seq:02d}.000Z", kind, what)
        for seq, (kind, what) in enumerate(happened, start=1)
    ]


runs = st.lists(st.tuples(kinds, data), max_size=25).map(number)


def run(*happened: tuple[str, dict[str, object]]) -> RecordState:
    return fold(number(list(happened)))


def order(state: RecordState) -> tuple[list[str], list[str]]:
    # Mappings are equal whatever their order, and here the order matters.
    return list(state.answers), list(state.history)


@given(runs, st.data())
def test_the_fold_of_a_prefix_extended_by_the_rest_is_the_fold(
    events: list[Event], choice: st.DataObject
) -> None:
    cut = choice.draw(st.integers(0, len(events)))
    state = fold(events[:cut])
    for event in events[cut:]:
        state = extend(state, event)
    whole = fold(events)
    assert state == whole
    assert order(state) == order(whole)


@given(runs)
def test_a_builder_shows_the_fold_of_what_it_was_given_and_states_never_change(
    events: list[Event],
) -> None:
    builder = StateBuilder()
    shown = [builder.state()]
    for event in events:
        builder.add(event)
        shown.append(builder.state())
    for count, state in enumerate(shown):
        assert state == fold(events[:count])


@given(runs)
def test_no_event_vanishes(events: list[Event]) -> None:
    state = fold(events)
    kept = [event.seq for event in (*state.unknown, *state.flags)]
    kept += [said.seq for said in (*state.notes, *state.tones, *state.attachments, *state.doubts)]
    kept += [answer.seq for answers in state.history.values() for answer in answers]
    counted = [event for event in events if event.seq not in kept]
    assert len(kept) == len(set(kept))
    assert {event.kind for event in counted} <= {"begin", "withdraw", "resume", "end"}
    assert state.resumed == sum(event.kind == "resume" for event in events)
    assert state.last_at == (events[-1].at if events else None)


@given(runs)
def test_the_answer_in_force_is_the_last_one_that_was_not_withdrawn(
    events: list[Event],
) -> None:
    state = fold(events)
    for key in ("a", "b", "c"):
        about = [e for e in events if e.kind in [*ANSWERS, "withdraw"] and e.data.get("key") == key]
        if about and about[-1].kind != "withdraw":
            assert state.answers[key].seq == about[-1].seq
        else:
            assert key not in state.answers
        given_answers = [event.seq for event in about if event.kind != "withdraw"]
        assert [answer.seq for answer in state.history.get(key, ())] == given_answers
    assert list(state.answers) == [key for key in state.history if key in state.answers]


def test_nothing_recorded_is_an_empty_state() -> None:
    state = fold([])
    for field in fields(RecordState):
        assert not getattr(state, field.name), field.name


def test_a_correction_stands_in_the_place_of_the_first_answer() -> None:
    state = run(
        ("reading", {"key": "a", "typed": "2.0", "value": 2.0}),
        ("confirm", {"key": "b", "typed": "y"}),
        ("reading", {"key": "a", "typed": "2.1", "value": 2.1}),
    )
    assert list(state.answers) == ["a", "b"]
    assert state.answers["a"].typed == "2.1"
    assert state.answers["a"].data["value"] == 2.1
    assert [answer.typed for answer in state.history["a"]] == ["2.0", "2.1"]


def test_a_withdrawn_answer_is_history_and_a_new_one_takes_its_old_place() -> None:
    happened: list[tuple[str, dict[str, object]]] = [
        ("reading", {"key": "a", "typed": "1"}),
        ("reading", {"key": "b", "typed": "2"}),
        ("withdraw", {"key": "a"}),
    ]
    state = run(*happened)
    assert list(state.answers) == ["b"]
    assert [answer.typed for answer in state.history["a"]] == ["1"]
    assert list(run(*happened, ("skip", {"key": "a", "reason": "hot"})).answers) == ["a", "b"]


def test_a_skip_is_known_by_its_reason() -> None:
    assert run(("skip", {"key": "a", "reason": "too hot"})).answers["a"].typed == "too hot"
    assert run(("skip", {"key": "a", "typed": "no load"})).answers["a"].typed == "no load"


def test_the_frame_of_a_run_is_kept() -> None:
    happened: list[tuple[str, dict[str, object]]] = [
        ("begin", {"unit": "Teal"}),
        ("tone", {"key": "a", "state": "on"}),
        ("tone", {"state": "off"}),
        ("note", {"text": "fan noise"}),
        ("attach", {"key": "a", "name": "attached-01-a.csv", "sha256": "ab"}),
        ("flag", {"name": "wrong-range"}),
        ("end", {"verdict": "in spec"}),
    ]
    state = run(*happened)
    assert state.begin == {"unit": "Teal"}
    assert (state.began_at, state.last_at) == (
        "2026-05-01T09:00:01.000Z", "2026-05-01T09:00:07.000Z",
    )  # fmt: skip
    assert [(tone.key, tone.state) for tone in state.tones] == [("a", "on"), (None, "off")]
    assert [(note.key, note.text) for note in state.notes] == [(None, "fan noise")]
    assert [(held.name, held.sha256) for held in state.attachments] == [("attached-01-a.csv", "ab")]
    assert [flag.data["name"] for flag in state.flags] == ["wrong-range"]
    assert state.ended == {"verdict": "in spec"}
    assert state.unknown == ()
    resumed = run(*happened, ("resume", {}))
    assert (resumed.resumed, resumed.ended) == (1, None)


@pytest.mark.parametrize(
    ("kind", "what"),
    [
        ("sparkle", {"key": "a"}),
        ("reading", {"typed": "2.0"}),
        ("reading", {"key": 7, "typed": "2.0"}),
        ("withdraw", {}),
        ("tone", {"state": "loud"}),
        ("note", {"text": None}),
        ("attach", {"sha256": "ab"}),
        ("", {}),
    ],
)
def test_what_this_version_can_make_nothing_of_is_kept_as_unknown(
    kind: str, what: dict[str, object]
) -> None:
    state = run((kind, what))
    assert [(event.kind, event.data) for event in state.unknown] == [(kind, what)]
    assert not state.answers


def test_a_second_begin_does_not_change_what_the_first_said() -> None:
    state = run(("begin", {"unit": "Teal"}), ("begin", {"unit": "Amber"}))
    assert state.begin == {"unit": "Teal"}
    assert [event.data for event in state.unknown] == [{"unit": "Amber"}]


def test_a_state_cannot_be_changed() -> None:
    state = run(("reading", {"key": "a", "typed": "1"}))
    with pytest.raises(FrozenInstanceError):
        state.resumed = 3  # type: ignore[misc]
    for mapping in (state.answers, state.history, state.begin):
        assert isinstance(mapping, Mapping)
        with pytest.raises(TypeError):
            mapping["b"] = None  # type: ignore[index]


def test_a_doubt_is_kept_beside_the_answers_and_is_none() -> None:
    doubted = {"key": "a", "typed": "54", "slip": "peak-to-peak", "meant": "54 Vpp"}
    kept = {"key": "a", "typed": "54 Vpp"}
    state = run(("begin", {}), ("doubt", doubted), ("reading", kept))
    (doubt,) = state.doubts
    assert (doubt.seq, doubt.key, doubt.typed) == (2, "a", "54")
    assert (doubt.slip, doubt.meant) == ("peak-to-peak", "54 Vpp")
    assert [answer.typed for answer in state.history["a"]] == ["54 Vpp"]


def test_a_doubt_that_lacks_its_slip_is_kept_as_unknown() -> None:
    state = run(("begin", {}), ("doubt", {"key": "a", "typed": "54"}))
    assert state.doubts == ()
    assert [event.kind for event in state.unknown] == ["doubt"]
