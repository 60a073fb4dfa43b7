"""Where people of a plan sleep, and whether the beds suffice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date

from roundplan.audit.book import Book
from roundplan.audit.breach import day_words
from roundplan.domain.counts import counted
from roundplan.travel.distance import geodesic_km


def lodging_for(book: Book, venue: str) -> str | None:
    """Return where a venue's participants lodge: there, else at the nearest site with lodging near it."""
    site = book.round.site(venue)
    if site.has_lodging:
        return venue
    options = [s for s in book.round.sites() if s.has_lodging and book.near(s.code, venue)]
    return min(options, key=lambda s: (geodesic_km(s, site), s.code)).code if options else None


def beds_short(book: Book, *, participants: bool) -> Iterator[tuple[str, str, date]]:
    """Yield in words, with site and night, where more people sleep than there are beds.

    Parameters
    ----------
    participants : bool
        Whether to report sites where participants sleep, or those where crews alone do.
    """
    guests: Counter[tuple[str, date]] = Counter()
    crews: Counter[tuple[str, date]] = Counter()
    for team in book.plan.teams:
        for outing in team.outings:
            for night, site in outing.nights:
                guests[site, night] += len(outing.people)
    for trip in book.plan.trips:
        drivers = book.round.crew(trip.crew).drivers
        for day in trip.days:
            if day.night is not None:
                staying = [
                    entry.trainer
                    for entry in day.aboard
                    if entry.leaves_at is None and not book.near(book.round.trainer(entry.trainer).lives_at, day.night)
                ]
                crews[day.night, day.date] += drivers + len(staying)
    for (site, night), number in sorted((guests + crews).items()):
        beds = book.round.site(site).lodging_beds
        if beds is not None and number > beds and bool(guests[site, night]) is participants:
            words = (
                f"{counted(number, 'person')} ({counted(guests[site, night], 'participant')},"
                f" {crews[site, night]} of crews)"
                f" sleep at {book.who(site)} in the night of {day_words(night)}; it has {counted(beds, 'bed')}"
            )
            yield words, site, night
