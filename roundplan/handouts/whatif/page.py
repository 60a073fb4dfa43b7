"""whatif.html: the plans of one round under changed settings, side by side, on a page that needs no network."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from roundplan.domain.scenario import Scenario
from roundplan.handouts.page import render_page
from roundplan.handouts.speech import language, locale, say, several
from roundplan.handouts.whatif import figures
from roundplan.handouts.whatif.tables import aims_table, in_short, money_of, side_by_side
from roundplan.handouts.words import capital


def render(scenarios: Sequence[Scenario]) -> str:
    """Return the page.

    Parameters
    ----------
    scenarios : sequence of Scenario
        The round as entered first.
    """
    return render_page(
        "whatif.html.j2",
        title=say("What if?"),
        round_name=scenarios[0].training_round.settings.round.name,
        version=say("a comparison, not a plan to act on"),
        lang=language(),
        direction=locale().text_direction,
        changed=None,
        **content(scenarios),
    )


def content(scenarios: Sequence[Scenario]) -> dict[str, Any]:
    """Return what the page shows."""
    money, teams = money_of(scenarios), figures.teams_by_facility(scenarios)
    changed = list(figures.changed_rows(teams))
    return {
        "lede": lede(scenarios),
        "short": in_short(scenarios, money),
        "aims": aims_table(scenarios, money),
        "gains": side_by_side(
            say("Teams of the facilities in which some plan differs"), scenarios, changed, money, differences=True
        ),
        "same": capital(
            several("{numeral} facility sends as many teams in every plan.",
                    "{numeral} facilities send as many teams in every plan.", len(teams) - len(changed))
        ) if len(teams) > len(changed) else "",
        "differs": bool(changed),
        "roles": side_by_side(say("Seats filled, by role"), scenarios, figures.by_role(scenarios), money, total=True),
        "effort": side_by_side(say("What each plan takes"), scenarios, figures.effort(scenarios), money),
        "costs": side_by_side(
            say("Cost in {currency}", currency=money.currency), scenarios, figures.costs(scenarios), money, total=True
        ),
        "helps": side_by_side(
            say("Teams that were wanted and are missing, by what could help most"), scenarios,
            figures.what_helps(scenarios), money,
        ),
    }  # fmt: skip


def lede(scenarios: Sequence[Scenario]) -> str:
    """Say how many plans there are, and that each was checked."""
    found = sum(plan is not None for plan in figures.plans(scenarios))
    return capital(
        several(
            "{numeral} plan of one round. The audit found every rule kept in it.",
            "{numeral} plans of one round, side by side. The audit found every rule kept in each of them.",
            found,
        )
    )
