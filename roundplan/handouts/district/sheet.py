"""A district's sheet: each facility's people, days and slots, who covers each shift, and columns to reply in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from roundplan.domain.decision import Contact
from roundplan.domain.facility import Facility
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.facility.cover import rosters_wanted, swap_words, teaching_words
from roundplan.handouts.facility.groups import Group, groups, marks_words
from roundplan.handouts.facility.stand_ins import stand_in_lines
from roundplan.handouts.page import Table, draft_reasons, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.retelling import reason_words
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.slips.page import seats_table, stays_table
from roundplan.handouts.slips.rows import Slip, facilities_of, slip_of
from roundplan.handouts.speech import say, several
from roundplan.handouts.words import capital
from roundplan.slips.numbering import Numbers


@dataclass(frozen=True, slots=True)
class FacilityPart:
    """One facility on a district's sheet."""

    name: str
    contact: Contact | None
    groups: tuple[Group, ...]
    cover: Table
    rosters: str
    left_out: str
    teaching: tuple[str, ...]
    swaps: tuple[str, ...]
    stand_ins: Sequence[str]


def render(
    plan: Plan,
    training_round: TrainingRound,
    district: str,
    *,
    contacts: Mapping[str, Contact] | None = None,
    version: int | None = None,
    numbers: Numbers | None = None,
) -> str:
    """Return a district's sheet as HTML.

    Parameters
    ----------
    district : str
        Name of the district as in the facilities table.
    contacts : mapping of str to Contact or None
        Contacts by code; the manager's and those of the district's facilities are printed.
    version : int or None
        Version of this sheet's own last change; None = the plan's.
    numbers : Numbers or None
        Letters and numbers of reply codes; None = as if no slip had gone out before.
    """
    index = PlanIndex(plan, training_round)
    known = contacts or {}
    facilities = facilities_of(index, district)
    teams = sum(team.facility in {f.code for f in facilities} for team in plan.teams)
    said = say(
        "{teams} from {facilities} of the district.",
        teams=capital(several("{numeral} team", "{numeral} teams", teams)),
        facilities=several("{numeral} facility", "{numeral} facilities", len(facilities)),
    )
    return render_page(
        "district.html.j2",
        **frame(plan, district, version),
        lede=said,
        draft=_own_draft_reasons(index, facilities),
        manager=known.get("manager"),
        marks=marks_words([entry for facility in facilities for entry in index.seats_at(facility.code)]),
        parts_of_district=[
            _part(index, facility, known, slip_of(index, facility.code, version, numbers)) for facility in facilities
        ],
        safety=safety_lines(Reader.DISTRICT),
    )


def _part(index: PlanIndex, facility: Facility, contacts: Mapping[str, Contact], slip: Slip) -> FacilityPart:
    reasons = [reason_words(r) for r in index.plan.reasons if r.who == facility.code and (r.team_number or 1) == 1]
    teams = dict.fromkeys(row.team.code for row in slip.seats)
    sends = any(team.facility == facility.code for team in index.plan.teams)
    return FacilityPart(
        name=facility.name,
        contact=contacts.get(facility.code),
        groups=tuple(
            replace(group, table=seats_table(slip, team))
            for team, group in zip(teams, groups(index, facility.code), strict=True)
        ),
        cover=stays_table(index, slip),
        rosters=rosters_wanted(index, facility.code),
        left_out="" if sends else _left_out(reasons),
        teaching=teaching_words(index, facility.code),
        swaps=swap_words(index, facility.code),
        stand_ins=stand_in_lines(index, facility.code),
    )


def _left_out(reasons: Sequence[str]) -> str:
    """Say that a facility sends no team, and why."""
    if reasons:
        return say("No team from here in this round: {reason}.", reason=reasons[0])
    return say("No team from here in this round.")


def _own_draft_reasons(index: PlanIndex, facilities: Sequence[Facility]) -> Sequence[str]:
    """Say why the sheet is not yet to be acted upon, counting the district's own seats alone."""
    shown: dict[str, set[str]] = {}
    for facility in facilities:
        for team, seat in index.seats_at(facility.code):
            shown.setdefault(team.code, set()).add(seat.person)
    teams = tuple(
        replace(team, seats=tuple(seat for seat in team.seats if seat.person in shown.get(team.code, ())))
        for team in index.plan.teams
    )
    return draft_reasons(PlanIndex(replace(index.plan, teams=teams), index.training_round))
