"""One sheet of A4 for the facility in charge: who goes when, who stays by day and night, lines to sign."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan, Session
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.facility.cover import (
    cover_by_role,
    leave_first,
    referral_words,
    rosters_wanted,
    run_words,
    swap_words,
    teaching_words,
)
from roundplan.handouts.facility.fit import Fit, best_fit
from roundplan.handouts.facility.groups import Group, groups, marks_words
from roundplan.handouts.facility.stand_ins import stand_in_lines
from roundplan.handouts.marking import Changes, changes, marked_line, marked_rows
from roundplan.handouts.page import Cell, Table, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.retelling import reason_words
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.speech import say, several
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import capital, clock, dates_words, day_date, short_date


def render(
    plan: Plan,
    training_round: TrainingRound,
    facility: str,
    *,
    contacts: Mapping[str, Contact] | None = None,
    version: int | None = None,
) -> str:
    """Return a facility's sheet as HTML.

    Parameters
    ----------
    facility : str
        Code of the facility. Of other facilities' people only guests in its own teams appear.
    contacts : mapping of str to Contact or None
        Contacts by code; the manager's is printed, and where somebody goes the district coordinator's.
    version : int or None
        Version of this sheet's own last change; None = the plan's.
    """
    index = PlanIndex(plan, training_round)
    home = training_round.facility(facility)
    groups_of_teams = tuple(groups(index, facility, once=True))
    manager = (contacts or {}).get("manager")
    coordinator = (contacts or {}).get(home.district) if groups_of_teams else None
    main_text = _main_text(index, facility)
    aside_text = _aside_text(index, facility, groups_of_teams)
    stays, stays_for = _stays_table(index, facility)
    stays_text = {
        "stays_for": stays_for,
        "stand_ins": stand_in_lines(index, facility),
        "referral": referral_words(index, facility),
    }
    goes = go_rows(index, facility)
    safety = safety_lines(Reader.FACILITY, hosts=bool(aside_text["hosted"]))
    told, fit = _fitting(
        blocks=[_marked_block(group) for group in groups_of_teams],
        main_text=_texts(main_text),
        aside_text=_aside_texts(aside_text, tuple(_contact_texts(manager, coordinator))),
        confirmations=len(goes),
        stays=marked_rows(stays.caption, stays.rows),
        whole_text=_texts(stays_text),
        safety=safety,
    )
    return render_page(
        "facility.html.j2",
        **(frame(plan, home.name, version) | {"changed": told}),
        **main_text,
        **stays_text,
        **aside_text,
        safety=safety,
        groups=groups_of_teams,
        stays=stays,
        goes=goes,
        manager=manager,
        coordinator=coordinator,
        size=fit.size_pt,
        line=fit.line,
        flow=fit.flow,
        shift=fit.shift_percent,
        aside=fit.aside_mm,
    )


Block = tuple[Sequence[str], Sequence[Sequence[Cell]]]
"""Sentences on a team, and the table of its seats."""


def _marked_block(group: Group) -> Block:
    sentences = [marked_line(group.title, sentence) for sentence in group.sentences]
    return (marked_line("", group.title), *sentences), marked_rows(group.title, group.table.rows)


def _fitting(*, main_text: Sequence[str], **parts: Any) -> tuple[Changes | None, Fit]:
    """Return the list of changes, cut where the sheet would run over for it, and how the sheet is set."""
    found = changes()
    for lines in range(len(found.lines) if found else 0, -1, -1):
        told = found.shortened(lines) if found else None
        said = [told.title, *told.told(), " "] if told else []
        fit = best_fit(main_text=[*said, *main_text], **parts)
        if fit.fits:
            break
    return told, fit


def _main_text(index: PlanIndex, facility: str) -> dict[str, Any]:
    """Return the sentences with the tables of who goes, by their place on the sheet."""
    return {
        "teaching": teaching_words(index, facility),
        "absent_reason": _absent_reason(index, facility),
        "marks": marks_words(tuple(index.seats_at(facility))),
    }


def _stays_table(index: PlanIndex, facility: str) -> tuple[Table, tuple[str, ...]]:
    """Return who stays in each shift, a column a role, and what shifts marked with a number are for."""
    roles, rows, stays_for = cover_by_role(index, facility)
    heads = (say("Shift"), *(capital(role_word(role)) for role in roles), say("Confirmed the day before"))
    return Table(say("Who stays"), heads, [(*row, "") for row in rows]), stays_for


def _aside_text(index: PlanIndex, facility: str, groups_of_teams: Sequence[Group]) -> dict[str, Any]:
    """Return what stands in the narrow column, by its place on the sheet."""
    hosted = [_hosting_words(index, s) for s in index.sessions_in_order if s.venue == facility]
    leaving = leave_first(index, facility)
    return {
        "hosted": hosted,
        "stopping": _stopping(leaving),
        "first_to_leave": leaving,
        "reply": _reply(groups_of_teams),
        "swaps": swap_words(index, facility),
        "rosters": rosters_wanted(index, facility),
        "run": run_words(index, facility),
        "exposure": _exposure(index, facility),
    }


def _stopping(leaving: Sequence[str]) -> str:
    """Say how a session in the facility itself is stopped; empty where there is none."""
    if not leaving:
        return ""
    return say("Anybody stops the session with “this is real”; nobody need be asked first. Who leaves a seat:")


def _reply(groups_of_teams: Sequence[Group]) -> str:
    """Ask for a reply for those who go; empty where nobody does."""
    if not groups_of_teams:
        return ""
    return say("Tell the district coordinator yes or no for each person who goes, and after a no who comes instead.")


def _texts(parts: Mapping[str, str | Sequence[str]]) -> list[str]:
    """Return all paragraphs of a column."""
    said: list[str] = []
    for part in parts.values():
        said += [marked_line("", line) for line in ([part] if isinstance(part, str) else part) if line]
    return said


def _aside_texts(parts: Mapping[str, Any], contacts: Sequence[str]) -> list[str]:
    """Return all paragraphs of the narrow column, an empty one for each heading."""
    said = ["" for _ in range(1 + bool(parts["hosted"]) + bool(parts["first_to_leave"]) + bool(parts["reply"]))]
    return [*said, *_texts(parts), *contacts]


def _contact_texts(*known: Contact | None) -> Iterator[str]:
    """Yield what stands under whom to call, about as long as it is set; a contact not known leaves a blank."""
    for contact in known:
        yield say("District coordinator") + (f", {contact.phone}, {contact.email}" if contact else "")


def _absent_reason(index: PlanIndex, facility: str) -> str:
    """Return why the facility sends no team, or nothing if it does."""
    if any(team.facility == facility for team in index.plan.teams):
        return ""
    found = next((reason_words(r) for r in index.plan.reasons if r.who == facility), "")
    if found:
        return say("No team from here in this round: {reason}", reason=found)
    return say("No team from here in this round.")


def _hosting_words(index: PlanIndex, session: Session) -> str:
    """Say that a session is held here, without a word on who comes."""
    first, last = session.days[0], session.days[-1]
    held = several(
        "A session is held here on {dates}, {start} to {end}, with {numeral} station.",
        "A session is held here on {dates}, {start} to {end}, with {numeral} stations.",
        len(session.stations),
        dates=dates_words(session.dates),
        start=clock(first.start),
        end=clock(first.end),
    )
    needed = clock(max(index.set_up_from(session, first.date), 0))
    cleared = clock(index.packed_up_by(session, last.date), up=True)
    if first == last:
        room = say("The room is needed from {start} until {end}.", start=needed, end=cleared)
    else:
        day = day_date(last.date)
        room = say("The room is needed from {start} until {end} on {date}.", start=needed, end=cleared, date=day)
    return f"{held} {room}"


def go_rows(index: PlanIndex, facility: str) -> tuple[str, ...]:
    """Return the dates for which the person in charge says go or no-go: own people train, or a session is here."""
    days = {day for team, _ in index.seats_at(facility) for day in team.dates}
    days.update(day for s in index.plan.sessions if s.venue == facility for day in s.dates)
    return tuple(short_date(day) for day in sorted(days))


def _exposure(index: PlanIndex, facility: str) -> tuple[str, ...]:
    """Return the contact for needle-sticks at each venue that the facility's people use."""
    venues = dict.fromkeys(index.sessions[team.session].venue for team, _ in index.seats_at(facility))
    venues.update({s.venue: None for s in index.plan.sessions if s.venue == facility})
    sites = (index.training_round.site(code) for code in venues)
    unnamed = say("to be named before the session")
    return tuple(say("{place}: {contact}", place=s.name, contact=s.exposure_contact or unnamed) for s in sites)
