"""Whatever replies come, in whatever order and however often: the same replies hold, and the same is known of seats."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st
from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan.followup.answers import holding, put_in
from roundplan.followup.asked import Kind, question
from roundplan.followup.record import opened, writing
from roundplan.followup.replies import Place, Reply
from roundplan.followup.standing import State, standings
from roundplan.followup.versions import Author, add_version, last_version
from roundplan.slips.reply_code import Word

ROUND = hand_round()
ASKED = question(hand_plan(), ROUND)
ANNA = Author("Anna", "slips came back")
TODAY = date(2026, 5, 31)


@st.composite
def replies(draw: st.DrawFn) -> Reply:
    """Draw a reply to anything that is asked."""
    asked = draw(st.sampled_from(ASKED.rows))
    words = [Word.YES, Word.NO, None] if asked.kind is Kind.SHIFT else [*Word, None]
    word = draw(st.sampled_from(words))
    substitute = draw(st.sampled_from(["GAMA-N2", "GAMA-P2"])) if word is Word.REPLACED else ""
    place = Place(draw(st.sampled_from(["a.xlsx", "b.txt"])), "", draw(st.integers(1, 9)))
    remark = draw(st.sampled_from(["", "late"])) if word else "late"
    return Reply(asked=asked, place=place, word=word, substitute=substitute, remark=remark)


def taken(batches: Sequence[Sequence[Reply]]) -> tuple[object, ...]:
    """Take batches into a new record; returns what holds and how everything stands, without where it was said."""
    with TemporaryDirectory() as folder, opened(Path(folder)) as record:
        with writing(record):
            add_version(record, 1, "{}", ("f", {}), (), ANNA, "announced")
        version = last_version(record)
        assert version is not None
        for batch in batches:
            with writing(record):
                put_in(record, version, batch, ROUND, ANNA)
        held = holding(record)
        found = standings(ASKED, held, TODAY)
        # every reply is there, once
        assert {(s, k.content) for s, kept in held.items() for k in kept} == {
            (r.asked.subject, r.content) for batch in batches for r in batch
        }
        assert sum(map(len, held.values())) == len({(r.asked.subject, r.content) for b in batches for r in b})
    return (
        {subject: [kept.content for kept in group] for subject, group in held.items()},
        [(s.asked.subject, s.state, s.substitute, s.named_twice) for s in found],
    )


@settings(max_examples=40, deadline=None)
@given(st.lists(replies(), max_size=10), st.randoms(use_true_random=False))
def test_order_and_repetition_do_not_matter(heard: list[Reply], chance: object) -> None:
    again = [*heard, *heard[:3]]
    chance.shuffle(again)  # type: ignore[attr-defined]
    cut = len(again) // 2
    assert taken([heard]) == taken([again[:cut], again[cut:], heard])


@settings(max_examples=60, deadline=None)
@given(st.lists(replies(), max_size=12))
def test_a_seat_is_confirmed_by_yes_alone(heard: list[Reply]) -> None:
    _, found = taken([heard])
    said: dict[str, set[tuple[Word, str]]] = {}
    for reply in heard:
        if reply.word is not None:
            said.setdefault(reply.asked.subject, set()).add((reply.word, reply.substitute))
    for subject, state, *_ in found:  # type: ignore[attr-defined]
        if state is State.CONFIRMED:
            assert said[subject] == {(Word.YES, "")}
        if state in (State.ASKED, State.NO_REPLY):
            assert subject not in said
        if state is State.REPLACED:
            assert len(said[subject]) == 1
