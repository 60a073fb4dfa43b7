"""The command that compares plans, and what the terminal shows of them: one line a plan."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Annotated

import typer

from roundplan import workflow
from roundplan.cli.progress import figure, gap_words
from roundplan.cli.speech import Debug, Inputs, complain, kept_when_stopped, say
from roundplan.domain.means import Means, SearchMode
from roundplan.domain.plan import Plan
from roundplan.domain.rules import Aim
from roundplan.domain.scenario import End, Scenario, Solved

HEADS = ("what is changed", "first teams", "further teams", "teams", "facilities", "people", "cost")
ENDS = {
    End.IMPOSSIBLE: "proven: no plan is possible",
    End.OUT_OF_TIME: "no team was found in time",
    End.BREACH: "left out: by a fault of the program the plan broke a rule",
}
WIDEST = 34
"""Most characters of a name; a longer one is cut here and stands whole in the documents."""


def whatif(
    inputs: Inputs,
    out: Annotated[Path, typer.Option("--out", metavar="OUT", help="Folder for the comparison; no folder of a plan.")],
    settings: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="KEY=VALUE", help="A setting, as in teams.guests=0; once for each value."),
    ] = None,
    without: Annotated[
        list[str] | None, typer.Option("--without", metavar="CODE", help="A crew or trainer to do without.")
    ] = None,
    tables: Annotated[
        list[Path] | None, typer.Option("--with", metavar="TABLE.csv", help="A file in place of the table of its name.")
    ] = None,
    stress: Annotated[
        bool,
        typer.Option("--stress", help="Slower roads, the scarcest trainer ill, a vehicle lost, no guests."),
    ] = False,
    combine: Annotated[
        bool, typer.Option("--combine", help="Plan each combination of the changes, not one change at a time.")
    ] = False,
    seconds: Annotated[
        float | None, typer.Option("--seconds", metavar="S", min=1, help="Time for each plan; else as round.toml says.")
    ] = None,
    seed: Annotated[
        int | None, typer.Option("--seed", metavar="N", min=0, help="Seed of each search; else as round.toml says.")
    ] = None,
    search: Annotated[
        SearchMode | None, typer.Option("--search", help="As for plan: auto, integrated or decomposed.")
    ] = None,
    processes: Annotated[
        int | None, typer.Option("--processes", metavar="N", min=1, help="Plans at a time, one core each.")
    ] = None,
    cluster: Annotated[
        str | None, typer.Option("--cluster", metavar="ADDRESS", help="Dask scheduler whose workers search.")
    ] = None,
    debug: Debug = False,
) -> None:
    """Plan the same round under changed settings, and show the plans side by side."""
    asked = workflow.Asked(settings or (), without or (), tables or (), stress, combine)
    means = Means(search=search, processes=processes, cluster=cluster)
    with kept_when_stopped():
        done = workflow.what_if(inputs, out, asked, seconds=seconds, seed=seed, means=means, told=complain)
    for line in comparison_lines(done.scenarios, done.names):
        say(line)
    say(f"The audit found every rule kept in each plan. Side by side: {out / 'whatif.html'} and whatif.xlsx")


def comparison_lines(scenarios: tuple[Scenario, ...], names: tuple[str, ...]) -> Iterator[str]:
    """Yield a table of plans, the round as entered first, and what stands in the way where there is none."""
    rows: list[tuple[str, ...]] = [HEADS]
    for scenario, name in zip(scenarios, names, strict=True):
        rows.append((_short(name), *_cells(scenario)))
    widths = [
        max(len(row[column]) for row in rows if column < len(row) and len(row) > 2) for column in range(len(HEADS))
    ]
    widths[0] = max(len(row[0]) for row in rows)
    for row in rows:
        cells = [row[0].ljust(widths[0]), *(c.rjust(w) for c, w in zip(row[1:], widths[1:], strict=False))]
        yield "  ".join(cells if len(row) > 2 else [cells[0], row[1]]).rstrip()


def _short(name: str) -> str:
    return name if len(name) <= WIDEST else name[: WIDEST - 1] + "…"


def _cells(scenario: Scenario) -> tuple[str, ...]:
    solved = scenario.solved
    if solved is None or solved.plan is None:
        return (_why_none(solved),)
    plan, settings = solved.plan, scenario.training_round.settings.round
    people = {seat.person for team in plan.teams for seat in team.seats}
    amount = Decimal(sum(entry.amount for entry in plan.costs)).scaleb(-settings.currency_digits)
    return (
        _tier(plan, Aim.FIRST_TEAMS),
        _tier(plan, Aim.FURTHER_TEAMS),
        figure(len(plan.teams)),
        figure(len({team.facility for team in plan.teams})),
        figure(len(people)),
        f"{settings.currency} {amount:,.0f}",
    )


def _tier(plan: Plan, aim: Aim) -> str:
    """Write a tier's value and how far it may be from the best."""
    tier = next(tier for tier in plan.tiers if tier.aim is aim)
    said = gap_words(tier.value, tier.bound)
    return f"{figure(tier.value)} ({said if said.startswith(('proven', 'no')) else f'gap {said}'})"


def _why_none(solved: Solved | None) -> str:
    if solved is None:
        return "not searched for"
    reasons = "; ".join(f"{reason.who}: {reason.words}" for reason in solved.reasons[:2])
    return ENDS[solved.end] + (f" ({reasons})" if reasons else "")
