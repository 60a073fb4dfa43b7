"""The comparison: page and workbook say the same, hostile names stay text, each language has its words."""

from __future__ import annotations

import dataclasses
import io
from collections.abc import Callable
from typing import Any

import openpyxl
import pytest
from html_reading import read_page
from html_sample import HOSTILE, hostile_plan, hostile_round, sample_plan, sample_round

from roundplan.domain.plan import Reason, Status
from roundplan.domain.rules import Aim
from roundplan.domain.scenario import Change, ChangeKind, End, Scenario, Solved
from roundplan.handouts.speech import LANGUAGES, speaking
from roundplan.handouts.whatif import figures, page, workbook
from roundplan.handouts.whatif.sayings import column_words, proven_words

SETTING = Change(ChangeKind.SETTING, "teams.guests", "teams.guests", "0")
CHANGES = (
    Change(ChangeKind.CREW, "NORTH", "NORTH"),
    Change(ChangeKind.TRAINER, "T1", "Dr One"),
    Change(ChangeKind.TABLE, "crews", "crews.csv", "other/crews.csv"),
    Change(ChangeKind.ROADS, value="1.5"),
    Change(ChangeKind.ILL, "T2", "Sr Two"),
    Change(ChangeKind.LOST, "SOUTH", "SOUTH"),
    Change(ChangeKind.NO_GUESTS),
)


def comparison() -> list[Scenario]:
    """Return the sample plan, one without its last team, and a round for which no plan is possible."""
    round_, plan = sample_round(), sample_plan()
    fewer = dataclasses.replace(plan, teams=plan.teams[:-1])
    reason = Reason(who="T2", rule=None, words="leads anaesthesia alone")
    return [
        Scenario((), round_, Solved(End.FOUND, plan)),
        Scenario((SETTING,), round_, Solved(End.FOUND, fewer)),
        Scenario((CHANGES[4],), round_, Solved(End.IMPOSSIBLE, reasons=(reason,))),
    ]


def test_the_page_says_who_loses_a_team_and_where_no_plan_is_possible() -> None:
    scenarios = comparison()
    last = sample_plan().teams[-1]
    text = read_page(page.render(scenarios)).text
    assert "Two plans of one round, side by side." in text
    assert "teams.guests = 0" in text
    assert "loses 1" in text
    assert "gains 1" not in text
    assert sample_round().facility(last.facility).name in text
    assert "Trainer Sr Two is ill" in text
    assert "proven: no plan is possible" in text


def test_figures_by_column() -> None:
    scenarios, plan = comparison(), sample_plan()
    changed = list(figures.changed_rows(figures.teams_by_facility(scenarios)))
    assert [row.label for row in changed] == [sample_round().facility(plan.teams[-1].facility).name]
    before, after, none = changed[0].values
    assert before is not None
    assert (after, none) == (before - 1, None)
    costs = {row.label: row.values for row in figures.costs(scenarios)}
    total = costs.pop("In all")
    assert [sum(values[n] or 0 for values in costs.values()) for n in (0, 1)] == list(total[:2])
    roles = figures.by_role(scenarios)
    assert sum(row.values[0] or 0 for row in roles[:-1]) == sum(len(team.seats) for team in plan.teams)


def test_what_could_help_counts_the_missing_teams() -> None:
    scenarios = comparison()
    wanted = sum(f.teams_wanted for f in sample_round().facilities)
    rows = figures.what_helps(scenarios)
    assert sum(row.values[0] or 0 for row in rows) == wanted - len(sample_plan().teams)
    assert sum(row.values[1] or 0 for row in rows) == wanted - len(sample_plan().teams) + 1
    assert {row.values[2] for row in rows} == {None}


def test_the_workbook_has_numbers_as_numbers() -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook.render(comparison())))
    assert book.sheetnames == ["In short", "Aims", "Teams", "Roles", "What it takes", "Costs", "Left out"]
    rows = list(book["In short"].iter_rows(values_only=True))
    assert [row[0] for row in rows[1:]] == ["As entered", "teams.guests = 0", "Trainer Sr Two is ill"]
    assert [row[1] for row in rows[1:]] == [len(sample_plan().teams), len(sample_plan().teams) - 1, None]
    digits = sample_round().settings.round.currency_digits
    assert rows[1][4] == sum(entry.amount for entry in sample_plan().costs) / 10**digits
    assert book["Costs"].cell(1, 2).value == "As entered"


def test_proven_means_both_aims_of_coverage() -> None:
    plan = sample_plan()

    def with_bounds(first: int | None, further: int | None) -> str:
        more = {Aim.FIRST_TEAMS: first, Aim.FURTHER_TEAMS: further}
        tiers = [
            dataclasses.replace(tier, value=10, bound=more[tier.aim], status=Status.FEASIBLE)
            if tier.aim in more else tier for tier in plan.tiers
        ]  # fmt: skip
        return proven_words(dataclasses.replace(plan, tiers=tuple(tiers)))

    assert with_bounds(10, 10) == "proven: no plan trains more"
    assert with_bounds(10, 20) == "not proven: at most 50\N{NO-BREAK SPACE}% of what may be possible is missing"
    assert with_bounds(None, 10) == "not proven"


def test_hostile_names_stay_text(open_offline: Callable[..., Any]) -> None:
    plan, round_ = hostile_plan(), hostile_round()
    wicked = tuple(Change(ChangeKind.TRAINER, "T1", name) for name in HOSTILE)
    scenarios = [
        Scenario((), round_, Solved(End.FOUND, plan)),
        Scenario(wicked, round_, Solved(End.FOUND, dataclasses.replace(plan, teams=plan.teams[:-1]))),
        Scenario((Change(ChangeKind.TABLE, "crews", HOSTILE[0], HOSTILE[0]),), round_, Solved(End.OUT_OF_TIME)),
    ]
    html = page.render(scenarios)
    plain = read_page(page.render(comparison()))
    assert {tag for tag, _ in read_page(html).tags} - {"wbr"} == {tag for tag, _ in plain.tags}
    for width in (390, 1000):
        shown = open_offline(html, width=width)
        assert shown.evaluate("document.documentElement.scrollWidth") <= width
    book = openpyxl.load_workbook(io.BytesIO(workbook.render(scenarios)))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert all(cell.data_type != "f" for cell in cells)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_change_is_said_in_every_language(language: str) -> None:
    with speaking(language):
        said = [column_words((change,)) for change in CHANGES]
        html = page.render(comparison())
        again = page.render(comparison())
    assert len(set(said)) == len(CHANGES)
    assert html == again
    if language != "en":
        text = read_page(html).text
        english = ("As entered", "In short", "loses 1", "proven best", "no bound", "Crew days", "as many", "What it")
        assert [words for words in english if words in text] == []
        assert said != [column_words((change,)) for change in CHANGES]
