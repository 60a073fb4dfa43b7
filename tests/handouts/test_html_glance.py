"""What stands at the top of the report, the warnings gathered into one, and the tasks of the round as a whole."""

from __future__ import annotations

import dataclasses
from datetime import date

from html_sample import sample_plan, sample_round

from roundplan.audit.measures import measure
from roundplan.domain.plan import Plan
from roundplan.domain.role import Role, Shift
from roundplan.domain.rules import Aim
from roundplan.domain.saying import Notice, saying
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.dates import first_task, to_do_table
from roundplan.handouts.report.gathered import gathered
from roundplan.handouts.report.glance import glance
from roundplan.handouts.report.money import money_of
from roundplan.handouts.report.people import ThinShift, thin_shifts, thin_table
from roundplan.handouts.speech import speaking
from roundplan.supplies.orders import order_lines
from roundplan.travel.calendar import WorkingCalendar

THIN = ThinShift("Luvanda Rural Hospital", date(2027, 3, 2), Shift.NIGHT, (Role.ANAESTHETIST,))


def lines(plan: Plan, training_round: TrainingRound, thin: tuple[ThinShift, ...] = ()) -> dict[str, str]:
    index = PlanIndex(plan, training_round)
    orders = order_lines(plan, training_round)
    found = glance(index, money_of(index, orders), orders, (date(2027, 2, 2), 3), thin)
    return {line.head: line.words.replace("\N{NO-BREAK SPACE}", " ") for line in found}


def test_the_top_says_who_is_left_out_and_what_it_costs() -> None:
    said = lines(sample_plan(), sample_round(), (THIN,))
    assert said["Left out"] == (
        "Without any team: Phonje Health Centre. One team fewer than wanted: Luvanda Rural Hospital. "
        "Named as a must and not seated: Anda Gondwe."
    )
    assert said["Cost"].startswith("MWK 294,577.50, contingency included.")
    assert "Over its own budget: participants." in said["Cost"]
    assert said["Stays thin"] == ("One shift is left with a single person in a minimum role: Luvanda Rural Hospital.")
    assert said["To do"] == "Three tasks, the first by Tuesday 2 February 2027."


def test_nothing_is_said_at_the_top_of_an_empty_plan() -> None:
    assert lines(Plan(round_name="Empty"), sample_round()) == {}


def test_thin_shifts_are_those_that_the_burden_counts() -> None:
    plan, r = sample_plan(), sample_round()
    learners = r.replace(people=tuple(dataclasses.replace(p, learner=True) for p in r.people))  # nobody counts now
    few, all_thin = thin_shifts(PlanIndex(plan, r)), thin_shifts(PlanIndex(plan, learners))
    assert len(all_thin) > len(few)
    grown = measure(plan, learners)[Aim.BURDEN] - measure(plan, r)[Aim.BURDEN]
    assert grown == 960 * (len(all_thin) - len(few))  # 960 minutes a thin shift: rules, aim "burden"


def test_thin_shifts_stand_by_facility_and_role() -> None:
    table = thin_table((THIN, dataclasses.replace(THIN, date=date(2027, 3, 3), shift=Shift.DAY)))
    words = [[str(cell).replace("\N{NO-BREAK SPACE}", " ") for cell in row] for row in table.rows]
    assert words == [["Luvanda Rural Hospital", "anaesthetist", "Tue 2 Mar night, Wed 3 Mar"]]


def test_the_same_warning_of_many_rows_is_said_once_where_the_first_stood() -> None:
    def notice(row: int, who: str, message: str, column: str = "facility") -> Notice:
        return Notice(file="facilities.csv", row=row, column=column, said=saying(message, who=who))

    same = [notice(n, code, "{who} has no roster") for n, code in ((3, "A"), (4, "B"), (6, "C"))]
    other = notice(5, "D", "{who} can never release a team", "usual_team")
    assert gathered([same[0], other, *same[1:]]) == [
        "facilities.csv, rows 3, 4 and 6, column facility: each of A, B and C has no roster",
        "facilities.csv, row 5, column usual_team: D can never release a team",
    ]
    assert gathered([*same[:2], other])[:2] == [
        "facilities.csv, row 3, column facility: A has no roster",
        "facilities.csv, row 4, column facility: B has no roster",
    ]


def test_a_warning_tells_its_place_and_its_remedy() -> None:
    said = saying("no date of the round can hold a session")
    remedy = saying("enter the country, or closed_days")
    key = Notice(file="round.toml", row=7, column="round.last_day", said=said, remedy=remedy)
    assert gathered([key, dataclasses.replace(key, row=None, remedy=None)]) == [
        "round.toml, line 7, round.last_day: no date of the round can hold a session — enter the country, or "
        "closed_days",
        "round.toml, round.last_day: no date of the round can hold a session",
    ]
    with speaking("fr"):
        assert gathered([key])[0].startswith("round.toml, ligne 7, round.last_day")


def test_tasks_of_the_round_stand_with_those_of_its_sessions() -> None:
    plan, r = dataclasses.replace(sample_plan(), status="draft"), sample_round()
    told = dataclasses.replace(r.settings.round, announce_on=date(2027, 1, 4), purge_on=date(2027, 8, 31))
    r = r.replace(
        settings=dataclasses.replace(r.settings, round=told),
        cases=tuple(dataclasses.replace(case, approved_by="") for case in r.cases),
    )
    index, calendar = PlanIndex(plan, r), WorkingCalendar(r)
    words = [" ".join(row[1]) for row in to_do_table(index, calendar, (), ()).rows]
    assert words[0].startswith("Tell all facilities")
    assert words[-1].startswith("Phone numbers")
    assert any("Rosters are in from" in line for line in words)
    assert any("The clinical lead has approved “" in line for line in words)
    assert first_task(index, calendar, (), ()) == (
        date(2027, 1, 4),
        sum(len(row[1]) for row in to_do_table(index, calendar, (), ()).rows),
    )
    told_already = to_do_table(PlanIndex(dataclasses.replace(plan, status="announced"), r), calendar, (), ())
    assert not any("Tell all facilities" in " ".join(row[1]) for row in told_already.rows)
