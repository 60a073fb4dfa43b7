"""New facts: kept with who, when and why, in force until withdrawn, refused as a whole where anything is wrong."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from told_rounds import LATER
from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan import workflow
from roundplan.audit import measure
from roundplan.domain.outcome import FactsRefused, WrongPlace
from roundplan.domain.plan import Status
from roundplan.followup.clock import held_at
from roundplan.intake import read_round, write_round

Write = Callable[[str, str], Path]


@pytest.fixture(autouse=True)
def later():
    with held_at(LATER):
        yield


def tell(out: Path, said: str, **more: str) -> tuple[str, ...]:
    word, *rest = said.split(" ")
    done = workflow.take_fact(out, word, rest, who="Anna", **more)
    lines = (line.rpartition(" (Anna, 2026-05-20: ")[0] for line in done.in_force)
    return tuple(re.sub(r" \((Name of|Alfa|Beta|Gama|Delt|The|Trainer) ?[^)]*\)", "", line) for line in lines)


@pytest.mark.parametrize(
    ("said", "line"),
    [
        ("absent BETA-P2 2026-06-04", "absences: who BETA-P2, from 2026-06-04, to 2026-06-05, kind away"),
        ("absent C1 2026-06-04 2026-06-04", "absences: who C1, from 2026-06-04, to 2026-06-04, kind away"),
        (
            "cannot-stay BETA-P2 2026-06-04 night",
            "absences: who BETA-P2, from 2026-06-04, to 2026-06-04, kind cannot stay, shift night",
        ),
        ("lost-trainer T2 2026-06-03", "absences: who T2, from 2026-06-03, to 2026-06-05, kind lost"),
        ("lost-crew C1 2026-06-03", "absences: who C1, from 2026-06-03, to 2026-06-05, kind lost"),
        (
            "closed-road GAMA ALFA 2026-06-02 2026-06-03",
            "roads: from GAMA, to ALFA, closed_from 2026-06-02, closed_to 2026-06-03",
        ),
        ("closed-venue HALL 2026-06-04", "places: place HALL, closed_days 2026-06-04"),
        ("late DELT 2", "facilities: facility DELT, teams_wanted 2"),
        ("cap 900", "round: section prices, key cap, value 900"),
        ("roster DELT-P1 2026-06-02 night", "duties: person DELT-P1, date 2026-06-02, shift night"),
        (
            "lent DELT-P1 GAMA 2026-06-02 2026-06-03",
            "relief: person DELT-P1, facility GAMA, from 2026-06-02, to 2026-06-03",
        ),
    ],
)
def test_a_fact_in_a_few_words(announced: Path, said: str, line: str) -> None:
    assert tell(announced, said) == (f"1. {line}",)
    assert tell(announced, said) == (f"1. {line}",), "given twice, it stands once"


def test_two_swap_a_duty(announced: Path) -> None:
    assert tell(announced, "swap ALFA-P2 ALFA-P3 2026-06-02") == (
        "1. duties: person ALFA-P3, date 2026-06-02, shift day",
        "2. duties: person ALFA-P2, date 2026-06-02, shift on call",
    )


def test_a_venue_closed_twice_keeps_both_spans(announced: Path) -> None:
    tell(announced, "closed-venue HALL 2026-06-04")
    assert tell(announced, "closed-venue HALL 2026-06-01 2026-06-02")[-1] == (
        "2. places: place HALL, closed_days 2026-06-04; 2026-06-01/2026-06-02"
    )


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("abset BETA-P2 2026-06-04", "no fact begins with abset; did you mean absent?"),
        ("absent BETA-P22 2026-06-04", "there is no person or trainer or crew BETA-P22; did you mean BETA-P2?"),
        ("absent BETA-P2", "give it as: absent WHO FROM [TO]"),
        ("closed-road GAMA BETA 2026-06-02 2026-06-03", "the table roads has no stretch between GAMA and BETA"),
        ("swap BETA-P2 BETA-P3 2026-06-04", "the roster has no duty of BETA-P2 on 2026-06-04"),
        ("withdraw 7", "no fact 7 is in force"),
        ("withdraw it", "give withdraw the number of a fact"),
        ("unlock 99", "there is no lock 99"),
    ],
)
def test_a_fact_that_cannot_be_made_out(announced: Path, said: str, words: str) -> None:
    with pytest.raises(WrongPlace, match="^" + words.replace("[", r"\[").replace("?", r"\?")):
        tell(announced, said)
    assert workflow.take_facts(announced, []).in_force == ()


def test_a_date_that_is_none_is_a_finding_and_nothing_is_taken(announced: Path) -> None:
    with pytest.raises(FactsRefused) as refused:
        tell(announced, "absent BETA-P2 31/04/2026")
    (line,) = refused.value.findings
    assert line.startswith("as given, row 1, column from, “31/04/2026”: is no date: April has 30 days")
    assert workflow.take_facts(announced, []).in_force == ()


def test_tables_are_taken_whole_or_not_at_all(announced: Path, written: Write) -> None:
    good = written("absences.csv", "who,from,to,kind\nBETA-P2,2026-06-04,2026-06-04,ill\n")
    bad = written("roads-new.csv", "from,to,closed_from,closed_to\nGAMA,NOWHERE,2026-06-02,2026-06-03\n")
    with pytest.raises(FactsRefused) as refused:
        workflow.take_facts(announced, [good, bad], who="Anna")
    assert any("roads-new.csv, row 2, column to" in line for line in refused.value.findings)
    assert workflow.take_facts(announced, []).in_force == ()

    done = workflow.take_facts(announced, [good], who="Anna", why="phoned in")
    assert (done.taken, done.in_force) == (
        1,
        (
            "1. absences: who BETA-P2 (Name of BETA-P2), from 2026-06-04, to 2026-06-04, kind ill "
            "(Anna, 2026-05-20: phoned in)",
        ),
    )
    assert workflow.take_facts(announced, [good]).taken == 0


def test_a_fact_withdrawn_holds_no_longer_and_history_says_so(announced: Path) -> None:
    tell(announced, "cap 900", why="the sponsor said so")
    assert tell(announced, "withdraw 1", why="the sponsor thought again") == ()
    lines = list(workflow.tell_history(announced))[-2:]
    assert [line.partition(": ")[2] for line in lines] == [
        "1 new fact (round), to version 1. Why: the sponsor said so",
        "fact 1 withdrawn, to version 1. Why: the sponsor thought again",
    ]


def test_a_fact_that_others_rest_on_cannot_be_withdrawn(announced: Path, written: Write) -> None:
    person = "person,name,facility,roles\nBETA-P9,Somebody New,BETA,surgical provider\n"
    workflow.take_facts(announced, [written("staff.csv", person)], who="Anna")
    tell(announced, "absent BETA-P9 2026-06-04")
    with pytest.raises(FactsRefused) as refused:
        tell(announced, "withdraw 1")
    assert any("there is no person, trainer or crew BETA-P9" in line for line in refused.value.findings)


def test_nothing_is_taken_before_a_plan_is_announced(drafted: Path) -> None:
    with pytest.raises(WrongPlace, match="has been announced yet"):
        tell(drafted, "cap 900")


def test_facts_that_do_not_fit_new_tables_are_listed_and_withdrawn_one_by_one(announced: Path, tmp_path: Path) -> None:
    """Two of Delt's people are gone from the tables that are announced next."""
    gone = ("DELT-P2", "DELT-N2")
    for person in gone:
        tell(announced, f"absent {person} 2026-06-04")
    fewer = hand_round().replace(people=tuple(p for p in hand_round().people if p.code not in gone))
    write_round(fewer, tmp_path / "tables")
    values = measure(hand_plan(), fewer)
    tiers = tuple(
        dataclasses.replace(tier, value=values[tier.aim], bound=None, status=Status.NO_BOUND)
        for tier in hand_plan().tiers
    )
    plan = dataclasses.replace(hand_plan(), tiers=tiers)
    workflow.write_handouts(plan, read_round(tmp_path / "tables"), announced)
    workflow.announce(announced, who="Anna")

    assert len(workflow.take_facts(announced, []).in_force) == 2
    with pytest.raises(FactsRefused):
        tell(announced, "cap 900")
    assert len(tell(announced, "withdraw 1")) == 1
    assert tell(announced, "withdraw 2") == ()
