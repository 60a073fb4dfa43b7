"""whatif.xlsx: the figures of a comparison as sheets, numbers as numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Font
from openpyxl.worksheet.worksheet import Worksheet

from roundplan.costs.budget import trained_people
from roundplan.domain.scenario import Scenario
from roundplan.handouts.speech import say
from roundplan.handouts.whatif import figures
from roundplan.handouts.whatif.figures import Row, Unit
from roundplan.handouts.whatif.sayings import column_words, end_words, proof_words, proven_words
from roundplan.handouts.whatif.tables import left_out_table, money_of
from roundplan.handouts.words import Money
from roundplan.handouts.xlsx import put, save_bytes, write_table


def render(scenarios: Sequence[Scenario]) -> bytes:
    """Return the workbook; the same plans give the same bytes."""
    settings = scenarios[0].training_round.settings.round
    scale = 10**settings.currency_digits
    money = "#,##0" + ("." + "0" * settings.currency_digits if settings.currency_digits else "")
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    _short_sheet(workbook.create_sheet(say("In short")), scenarios, (settings.currency, money, scale))
    _aims_sheet(workbook.create_sheet(say("Aims")), scenarios, scale, money_of(scenarios))
    for title, rows in (
        (say("Teams"), figures.teams_by_facility(scenarios)),
        (say("Roles"), figures.by_role(scenarios)),
        (say("What it takes"), figures.effort(scenarios)),
        (say("Costs"), figures.costs(scenarios)),
    ):
        _figures_sheet(workbook.create_sheet(title), scenarios, rows, money, scale)
    left_out = left_out_table(scenarios)
    write_table(workbook.create_sheet(say("Left out")), left_out.heads, left_out.rows)
    return save_bytes(workbook)


def _short_sheet(sheet: Worksheet, scenarios: Sequence[Scenario], money: tuple[str, str, int]) -> None:
    currency, pattern, scale = money
    cost = say("Cost in {currency}", currency=currency)
    heads = (say("What is changed"), say("Teams"), say("Facilities"), say("People trained"), cost, say("Proven?"))
    rows: list[Sequence[Any]] = []
    for scenario, plan in zip(scenarios, figures.plans(scenarios), strict=True):
        said = column_words(scenario.changes)
        if plan is None:
            rows.append((said, None, None, None, None, end_words(scenario.solved.end) if scenario.solved else ""))
        else:
            counts = (len(plan.teams), figures.reached(plan), trained_people(plan))
            rows.append((said, *counts, figures.cost(plan) / scale, proven_words(plan)))
    write_table(sheet, heads, rows, number_formats={cost: pattern})


def _aims_sheet(sheet: Worksheet, scenarios: Sequence[Scenario], scale: int, money: Money) -> None:
    heads = (say("What is changed"), say("Aim"), say("Value"), say("Bound"), say("Proven?"))
    rows: list[Sequence[Any]] = []
    labels = [row.label for row in figures.aims(scenarios)]
    for scenario, plan in zip(scenarios, figures.plans(scenarios), strict=True):
        for place, tier in enumerate(plan.tiers if plan is not None else ()):
            unit = scale if place == len(labels) - 1 else 1
            bound = None if tier.bound is None else tier.bound / unit
            rows.append(
                (column_words(scenario.changes), labels[place], tier.value / unit, bound, proof_words(tier, money.bare))
            )
    write_table(sheet, heads, rows, number_formats={say("Value"): "#,##0.##", say("Bound"): "#,##0.##"})


def _figures_sheet(
    sheet: Worksheet, scenarios: Sequence[Scenario], rows: Sequence[Row], money: str, scale: int
) -> None:
    heads = ("", *(column_words(scenario.changes) for scenario in scenarios))
    written = [(row.label, *(_plain(value, row.unit, scale) for value in row.values)) for row in rows]
    formats = dict.fromkeys(heads[1:], money if rows and rows[0].unit is Unit.MONEY else "#,##0")
    last = write_table(sheet, heads, written, number_formats=formats)
    for column in range(1, len(heads) + 1):
        if rows and rows[-1].label in {say("In all"), say("People trained")}:
            sheet.cell(last, column).font = Font(bold=True)
    put(sheet.cell(1, 1), say("Figure"))


def _plain(value: int | None, unit: Unit, scale: int) -> float | None:
    return value / scale if value is not None and unit is Unit.MONEY else value
