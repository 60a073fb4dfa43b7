"""Sheets of a session: who is on the register, what the payment sheet adds up to, what observers are asked."""

from __future__ import annotations

import dataclasses
import re
from collections import Counter
from collections.abc import Callable

import planned_rounds
import pytest
from html_reading import read_page
from html_sample import hostile_plan, hostile_round
from planned_rounds import people_in, phones, phones_in, planned

from roundplan.costs.lines_people import participant_lines
from roundplan.costs.price_list import PriceList
from roundplan.domain.decision import CostLine
from roundplan.domain.plan import Session, SlotKind
from roundplan.domain.role import Transport
from roundplan.handouts.folder import SESSION_SHEETS
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.sheets import actions, observers, payments, register
from roundplan.handouts.watching import WATCH_WORDS, watches
from roundplan.handouts.words import clock_span


def said(render: Callable[..., str], index: PlanIndex, code: str) -> str:
    return read_page(render(index, code)).text


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_the_register_has_everybody_expected(name: str) -> None:
    index = planned(name)
    for session in index.plan.sessions:
        text = said(register.render, index, session.code)
        seats = [(t, s) for t in index.plan.teams if t.session == session.code for s in t.seats]
        assert people_in(text, index) == {seat.person for _, seat in seats}
        for team, seat in seats:
            row = re.search(rf"{re.escape(index.name(seat.person))}(.{{0,120}})", text)
            assert row is not None
            assert seat.role.value in row[1]
            assert f"{index.name(team.facility)}, team {team.number}" in row[1]
        aboard = {a.trainer for t in index.plan.trips for d in t.days if session.code in d.sessions for a in d.aboard}
        assert all(index.name(trainer) in text for trainer in aboard)
        assert "trained, partly, or absent" in text


def test_each_trainer_stands_with_the_own_crew() -> None:
    """Two crews share session S2: TR1 and TR2 come with NORTH, TR3 with SOUTH."""
    index = planned("sample")
    html = register.render(index, "S2")
    rows = [re.sub(r"<[^>]+>|\s+", " ", row) for row in re.findall(r"<tr role=\"row\">(.*?)</tr>", html, re.DOTALL)]
    for trainer, crew in (("TR1", "NORTH"), ("TR2", "NORTH"), ("TR3", "SOUTH")):
        (own,) = (row for row in rows if index.name(trainer) in row)
        assert {name for name in ("NORTH", "SOUTH") if name in own} == {crew}


def test_a_date_that_is_not_attended_cannot_be_signed() -> None:
    index = planned("sample")
    (second,) = (s for s in index.plan.sessions if s.code == "S2")
    longer = dataclasses.replace(
        second, days=(*second.days, dataclasses.replace(second.days[0], date=index.plan.sessions[2].dates[0]))
    )
    plan = dataclasses.replace(index.plan, sessions=(index.plan.sessions[0], longer, index.plan.sessions[2]))
    html = register.render(PlanIndex(plan, index.training_round), "S2")
    rows = re.findall(r"<tr role=\"row\">(.*?)</tr>", html, re.DOTALL)
    own = next(row for row in rows if planned_rounds.name_of("TUW06") in row)
    cells = [re.sub(r"<[^>]+>|\s", "", cell) for cell in re.findall(r"<td.*?</td>", own, re.DOTALL)]
    assert cells[2:] == ["", "–", ""]  # signs on Thursday, not on the other date, and a result


def money_lines(index: PlanIndex, session: Session) -> Counter[str]:
    """Return the plan's cost lines of a session's participants, as the costs room prices them."""
    sums: Counter[str] = Counter()
    for entry in participant_lines(index.plan, PriceList(index.training_round)):
        if entry.session == session.code:
            sums[entry.line] += entry.amount
    return sums


def priced(index: PlanIndex, **prices: int) -> PlanIndex:
    """Return the round with other prices, in minor units."""
    r = index.training_round
    changed = dataclasses.replace(r.settings, prices=dataclasses.replace(r.settings.prices, **prices))
    return PlanIndex(index.plan, r.replace(settings=changed))


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_payments_add_up_to_the_plans_cost_lines(name: str) -> None:
    index = planned(name)
    if name == "sample":
        index = priced(index, participant_day=500_000, participant_night=800_000, fare_per_km=12_345)
    total = 0
    for session in index.plan.sessions:
        people, rides = payments.payments(index, session), payments.rides_of(index, session)
        expected = money_lines(index, session)
        total += sum(expected.values())
        assert sum(p.days + p.nights for p in people) == expected[CostLine.PARTICIPANTS.value]
        fares = sum(p.fare for p in people) + sum(ride.amount for ride in rides)
        assert fares == expected[CostLine.PARTICIPANT_TRAVEL.value]
        for payment in people:
            public = index.training_round.facility(index.home(payment.person)).transport is Transport.PUBLIC
            assert public or payment.fare == 0
        text = said(payments.render, index, session.code)
        assert people_in(text, index) in ({p.person for p in people}, set())
    assert total > 0


def test_what_people_are_paid_by_hand() -> None:
    """Hired transport: of LUV five people lodge two nights and are away three dates, and drive twice 90 km.

    A person: 3 × 5,000 = 15,000 and 2 × 8,000 = 16,000. The vehicle: 5 people × 2 × 90 km × 120 = 108,000. With
    public transport each gets 2 × 90 km × 120 = 21,600 instead.
    """
    hired = priced(planned("sample"), participant_day=500_000, participant_night=800_000, fare_per_km=12_000)
    people = {p.person: p for p in payments.payments(hired, hired.sessions["S2"])}
    assert dataclasses.astuple(people["LUV01"]) == ("LUV01", 15_000_00, 16_000_00, 0)
    rides = payments.rides_of(hired, hired.sessions["S2"])
    assert dataclasses.astuple(rides[0]) == ("LUV", 5, 180, 108_000_00)
    r = hired.training_round
    facilities = tuple(dataclasses.replace(f, transport=Transport.PUBLIC) for f in r.facilities)
    public = PlanIndex(hired.plan, r.replace(facilities=facilities))
    people = {p.person: p for p in payments.payments(public, public.sessions["S2"])}
    assert people["LUV01"].total == 15_000_00 + 16_000_00 + 21_600_00
    assert payments.rides_of(public, public.sessions["S2"]) == ()
    text = said(payments.render, public, "S2")
    assert f"{planned_rounds.name_of('LUV01')} Luvanda Rural Hospital 15,000 16,000 21,600 52,600" in text
    assert "Pay only who came" in text


def test_a_round_that_pays_nothing_says_so() -> None:
    index = planned("sample")
    r = index.training_round
    prices = dataclasses.replace(
        r.settings.prices, left_out=frozenset({"participant_day", "participant_night", "fare_per_km"})
    )
    free = PlanIndex(index.plan, r.replace(settings=dataclasses.replace(r.settings, prices=prices)))
    text = said(payments.render, free, "S3")
    assert "The prices in force give the participants nothing." in text
    assert people_in(text, index) == set()


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_observers_are_told_who_watches_whom_when(name: str) -> None:
    index = planned(name)
    for session in index.plan.sessions:
        text = said(observers.render, index, session.code)
        for slot in session.slots:
            if slot.kind is SlotKind.SIMULATION and slot.team is not None:
                assert clock_span(slot.start, slot.end).replace("\N{WORD JOINER}", "") in text
        watching = {code for slot in session.slots if slot.team for code in slot.observers}
        known = {person.code for person in index.training_round.people}
        assert people_in(text, index) == watching & known
        for day in session.dates:
            for person, look in watches(index, session, day).items():
                assert f"{index.name(person)} ({WATCH_WORDS[look]})" in text, "the same as on the trainers' slot sheet"


def test_observers_are_asked_open_questions_and_sent_to_their_own_checklist() -> None:
    html = observers.render(planned("sample"), "S1")
    text = read_page(html).text
    for topic in ("Communication", "Roles and help", "Times", "Newborn care", "your hospital's own checklist"):
        assert topic in text
    assert text.count("?") >= 7
    assert not {tag for tag, _ in read_page(html).tags} & {"input", "select"}
    assert not re.search(r"[☐☑□✓✔]|\[ \]|\byes / no\b|\bscore of\b", text), "nothing to tick or to score"


def test_actions_have_owner_and_date_and_each_facility_its_rows() -> None:
    index = planned("sample")
    html = actions.render(index, "S1")
    text = read_page(html).text
    assert "Where Action Owner Due date Done on" in text
    for facility in ("KAM", "TUW"):
        rows = html.count(f'<th role="rowheader" scope="row"><bdi>{index.name(facility)}</bdi>')
        assert rows == actions.ROWS_A_FACILITY
    assert people_in(text, index) == set()


@pytest.mark.parametrize("sheet", SESSION_SHEETS)
def test_no_phone_stands_on_a_sheet_and_two_runs_are_alike(sheet: str) -> None:
    index = planned("sample")
    contacts = phones(index)
    render = SESSION_SHEETS[sheet]
    again = PlanIndex(index.plan, index.training_round)
    for session in index.plan.sessions:
        html = render(index, session.code)
        assert phones_in(html, contacts) == set()
        assert html == render(again, session.code)
        assert "version 9" in render(index, session.code, version=9)


@pytest.mark.parametrize("sheet", SESSION_SHEETS)
def test_hostile_names_are_text(sheet: str) -> None:
    index = PlanIndex(hostile_plan(), hostile_round())
    for session in index.plan.sessions:
        page = read_page(SESSION_SHEETS[sheet](index, session.code))
        assert not {tag for tag, _ in page.tags} & {"script", "img", "b"}
