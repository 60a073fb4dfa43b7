"""A calendar written out, and what became of the entries that an earlier one held.

An entry keeps its UID from plan to plan. Its SEQUENCE and DTSTAMP rise when anything that a reader sees of it changes,
and only then; an entry that is no longer planned stays in the file as cancelled, so that calendars take it out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from roundplan.handouts.calendars.entry import Entry, entry_uid
from roundplan.handouts.page import printable
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say, without_marks
from roundplan.handouts.words import version_words

if TYPE_CHECKING:
    from icalendar import Event, Timezone

PRODUCT = "-//roundplan//handouts//EN"

CANCELLED = "CANCELLED"

_KEPT_APART = ("SEQUENCE:", "DTSTAMP:")
"""Properties that say when an entry was changed, not what it is."""


@dataclass(frozen=True, slots=True)
class Issue:
    """One edition of one calendar.

    Attributes
    ----------
    person : str
        Code of the trainer or facility whose calendar it is; part of every UID.
    name : str
        Title of the calendar.
    version : int
        Version of the calendar's own last change.
    stamp : datetime
        When this edition came about, UTC: midnight of the plan's date, and a second later for each version.
    draft : bool
        Nobody has been told yet; entries are tentative.
    zone : ZoneInfo
        Time zone of the round.
    """

    round_name: str
    person: str
    name: str
    description: str
    version: int
    stamp: datetime
    draft: bool
    zone: ZoneInfo

    @classmethod
    def of(cls, index: PlanIndex, person: str, name: str, version: int | None = None) -> Issue:
        """Return the edition of a calendar that a plan gives rise to."""
        settings = index.training_round.settings.round
        number = index.plan.version if version is None else version
        day = settings.plan_date or index.training_round.announce_date()
        midnight = datetime(day.year, day.month, day.day, tzinfo=ZoneInfo("UTC"))
        return cls(
            round_name=index.plan.round_name,
            person=person,
            name=say("{round}: {name}", round=index.plan.round_name, name=name),
            description=version_words(index.plan, version),
            version=number,
            stamp=midnight + timedelta(seconds=max(0, number - 1)),
            draft=index.plan.status == "draft",
            zone=ZoneInfo(settings.time_zone),
        )


def calendar_bytes(issue: Issue, entries: Sequence[Entry], earlier: bytes | None = None) -> bytes:
    """Return a calendar as an .ics file.

    Parameters
    ----------
    issue : Issue
        Whose calendar, and which edition of it.
    entries : sequence of Entry
        What is planned now.
    earlier : bytes or None
        The same calendar as it was last given out.
    """
    from icalendar import Calendar, vText

    made = Calendar()
    made.add("prodid", PRODUCT)
    made.add("version", "2.0")
    made.add("method", "PUBLISH")
    for key, text in (("name", issue.name), ("x-wr-calname", issue.name), ("description", issue.description)):
        made.add(key, vText(_plain(text)))
    events = list(_events(issue, entries, earlier))
    for event in events:
        made.add_component(event)
    years = [start.year for event in events if (start := event.DTSTART) is not None]
    for zone in sorted(made.get_missing_tzids()):
        made.subcomponents.insert(0, _time_zone(zone, min(years) - 1, max(years) + 1))
    return bytes(made.to_ical())


@cache
def _time_zone(name: str, first_year: int, last_year: int) -> Timezone:
    """Return a time zone's offsets and changes over some years, written out for programs that do not know its name."""
    from icalendar import Timezone

    zone = Timezone.from_tzid(name, first_date=date(first_year, 1, 1), last_date=date(last_year, 12, 31))
    zone.pop("COMMENT", None)
    return zone


def _events(issue: Issue, entries: Sequence[Entry], earlier: bytes | None) -> Iterator[Event]:
    """Yield the events in order: those planned now, then those of the earlier calendar that are no more."""
    known = _read(earlier)
    for entry in entries:
        event = _event(issue, entry)
        before = known.pop(str(event["UID"]), None)
        if before is not None and _content(before) == _content(event):
            yield before
        else:
            yield _stamped(event, issue, before)
    for before in known.values():
        yield before if before.get("STATUS") == CANCELLED else _cancelled(before, issue)


def _read(earlier: bytes | None) -> dict[str, Event]:
    from icalendar import Calendar

    if earlier is None:
        return {}
    return {str(event["UID"]): event for event in Calendar.from_ical(earlier.decode()).events}


def _event(issue: Issue, entry: Entry) -> Event:
    """Return an entry as an event, not yet stamped."""
    from icalendar import Event

    event = Event()
    event.add("uid", entry_uid(issue.round_name, issue.person, entry.key))
    event.add("dtstart", _zoned(entry.start, issue.zone))
    event.add("dtend", _zoned(entry.end, issue.zone))
    summary = say("Draft: {entry}", entry=entry.summary) if issue.draft else entry.summary
    event.add("summary", _plain(summary))
    if entry.lines:
        event.add("description", _plain("\n".join(entry.lines)))
    if entry.location:
        event.add("location", _plain(entry.location))
    if entry.place is not None:
        event.add("geo", entry.place)
    event.add("status", "TENTATIVE" if issue.draft else "CONFIRMED")
    event.add("transp", "OPAQUE" if entry.busy else "TRANSPARENT")
    return event


def _stamped(event: Event, issue: Issue, before: Event | None) -> Event:
    """Set sequence and stamp: this edition's, and higher than before in any case."""
    sequence, stamp = max(0, issue.version - 1), issue.stamp
    if before is not None:
        sequence = max(sequence, before.sequence + 1)
        stamp = max(stamp, (before.DTSTAMP or stamp) + timedelta(seconds=1))
    for key, value in (("sequence", sequence), ("dtstamp", stamp)):
        event.pop(key, None)
        event.add(key, value)
    return event


def _cancelled(before: Event, issue: Issue) -> Event:
    """Return an earlier event as cancelled; the summary says so too, since not every phone heeds the status."""
    event: Event = before.copy()
    for key, value in (
        ("summary", _plain(say("Cancelled: {entry}", entry=str(before.get("SUMMARY", ""))))),
        ("status", CANCELLED),
        ("transp", "TRANSPARENT"),
    ):
        event.pop(key, None)
        event.add(key, value)
    return _stamped(event, issue, before)


def _content(event: Event) -> tuple[str, ...]:
    """Return what a reader sees of an event, in the order of the file format."""
    lines = event.to_ical().decode().replace("\r\n ", "").split("\r\n")
    return tuple(sorted(line for line in lines if not line.startswith(_KEPT_APART)))


def _zoned(moment: datetime | date, zone: ZoneInfo) -> datetime | date:
    return moment.replace(tzinfo=zone) if isinstance(moment, datetime) else moment


def _plain(text: Any) -> str:
    return without_marks(str(printable(text)))
