"""One sheet of A4 for the facility in charge: who goes when, who stays by day and night, lines to sign."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan, Session
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.facility.cover import (
    cover_rows,
    leave_first,
    referral_words,
    rosters_wanted,
    run_words,
    standby_stays_words,
    swap_words,
    teaching_words,
)
from roundplan.handouts.facility.fit import best_fit
from roundplan.handouts.facility.groups import Group, groups, marks_words
from roundplan.handouts.page import Table, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.retelling import reason_words
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.speech import say, several
from roundplan.handouts.words import clock, dates_words, day_date, short_date


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
    groups_of_teams = tuple(groups(index, facility))
    manager = (contacts or {}).get("manager")
    coordinator = (contacts or {}).get(home.district) if groups_of_teams else None
    main_text = _main_text(index, facility)
    aside_text = _aside_text(index, facility, groups_of_teams)
    heads = (say("Shift"), say("These stay"), say("Confirmed the day before"))
    stays = Table(say("Who stays"), heads, [(*row, "") for row in cover_rows(index, facility)])
    goes = go_rows(index, facility)
    fit = best_fit(
        blocks=[(group.sentences, group.table.rows) for group in groups_of_teams],
        stays=stays.rows,
        main_text=_texts(main_text),
        aside_text=[*_texts(aside_text), *_contact_texts(manager, coordinator)],
        confirmations=len(goes),
    )
    return render_page(
        "facility.html.j2",
        **frame(plan, home.name, version),
        **main_text,
        **aside_text,
        groups=groups_of_teams,
        stays=stays,
        goes=goes,
        manager=manager,
        coordinator=coordinator,
        size=fit.size_pt,
        aside=fit.aside_mm,
    )


def _main_text(index: PlanIndex, facility: str) -> dict[str, Any]:
    """Return the sentences beside the tables of who goes and who stays, by their place on the sheet."""
    return {
        "teaching": teaching_words(index, facility),
        "absent_reason": _absent_reason(index, facility),
        "marks": marks_words(tuple(index.seats_at(facility))),
        "standby_stays": standby_stays_words(index, facility),
        "referral": referral_words(index, facility),
    }


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
        "safety": safety_lines(Reader.FACILITY, hosts=bool(hosted)),
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
    """Return all paragraphs of a column; each part with a heading of its own counts two lines more."""
    said: list[str] = []
    for part in parts.values():
        lines = [part] if isinstance(part, str) else list(part)
        said += [line for line in lines if line]
        said += [" ", " "] if said and lines and lines[0] else []
    return said


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
