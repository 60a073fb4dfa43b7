"""The working calendar by hand: June 2026 starts on a Monday."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from rounds import hall, tiny_settings
from rounds import settings as changed

from roundplan.domain.dates import DaySet
from roundplan.domain.training_round import TrainingRound
from roundplan.travel.calendar import UnknownCountry, WorkingCalendar

FIRST, LAST = date(2026, 6, 1), date(2026, 6, 14)


def calendar(**keys: Any) -> WorkingCalendar:
    window = {"first_day": FIRST, "last_day": LAST}
    shut = DaySet(weekdays=frozenset({0}), dates=frozenset({date(2026, 6, 3)}))
    halls = (hall("HALL", 0, 0), hall("SHUT", 1, 1, closed_days=shut))
    return WorkingCalendar(TrainingRound(settings=changed(tiny_settings(), round=window | keys), places=halls))


def june(*days: int) -> tuple[date, ...]:
    return tuple(date(2026, 6, day) for day in days)


def test_weekends_rest_by_default() -> None:
    assert calendar().session_dates() == june(1, 2, 3, 4, 5, 8, 9, 10, 11, 12)


def test_working_days_can_be_sunday_to_thursday() -> None:
    found = calendar(working_days=frozenset({6, 0, 1, 2, 3}))
    assert found.session_dates() == june(1, 2, 3, 4, 7, 8, 9, 10, 11, 14)
    assert found.is_rest_day(date(2026, 6, 5))


def test_closed_days_of_the_round_are_no_rest_days_but_hold_no_session() -> None:
    found = calendar(closed_days=DaySet(stretches=((date(2026, 6, 2), date(2026, 6, 9)),)))
    assert found.session_dates() == june(1, 10, 11, 12)
    assert not found.is_rest_day(date(2026, 6, 2))


def test_a_venue_adds_its_own_closed_days() -> None:
    found = calendar()
    assert tuple(day for day in found.session_dates() if found.venue_open("SHUT", day)) == june(2, 4, 5, 9, 10, 11, 12)
    assert found.venue_open("HALL", FIRST)
    assert not found.venue_open("HALL", FIRST - timedelta(days=3)), "a Friday before the round"


def test_public_holidays_of_the_country_rest() -> None:
    """Madaraka Day, 1 June, is a public holiday of Kenya (from memory, official gazette)."""
    found = calendar(country="KE")
    assert found.holiday(FIRST) == "Madaraka Day"
    assert found.is_rest_day(FIRST)
    assert FIRST not in found.session_dates()
    assert calendar().holiday(FIRST) is None


def test_a_subdivision_has_holidays_of_its_own() -> None:
    """Corpus Christi, 4 June 2026, rests in Bavaria and not in Berlin (from memory, state laws)."""
    corpus_christi = date(2026, 6, 4)
    assert calendar(country="DE", subdivision="BY").is_rest_day(corpus_christi)
    assert not calendar(country="DE", subdivision="BE").is_rest_day(corpus_christi)


@pytest.mark.parametrize(("country", "subdivision"), [("XX", ""), ("KE", "NOWHERE")])
def test_an_unknown_country_is_told_in_words(country: str, subdivision: str) -> None:
    with pytest.raises(UnknownCountry, match=f"no public holidays are known for {country}"):
        calendar(country=country, subdivision=subdivision)


@pytest.mark.parametrize(
    ("from_day", "count", "found"),
    [
        (date(2026, 6, 10), 0, date(2026, 6, 10)),
        (date(2026, 6, 10), 2, date(2026, 6, 8)),  # Wednesday: Tuesday, Monday
        (date(2026, 6, 10), 3, date(2026, 6, 5)),  # the weekend is skipped
        (date(2026, 6, 7), 1, date(2026, 6, 5)),  # from a Sunday
        (date(2026, 6, 3), 2, date(2026, 5, 29)),  # Tuesday; Monday 1 June is a holiday; Friday
    ],
)
def test_working_days_before(from_day: date, count: int, found: date) -> None:
    assert calendar(country="KE").working_days_before(from_day, count) == found


def test_without_any_working_weekday_every_date_counts() -> None:
    assert calendar(working_days=frozenset()).working_days_before(LAST, 13) == FIRST


def test_estimated_holidays_are_told_apart_within_the_window() -> None:
    """Senegal: the dates of Islamic feasts are announced by the moon; Easter and 4 April are certain."""
    year = {"country": "SN", "first_day": date(2026, 3, 1), "last_day": date(2026, 6, 14)}
    estimated = dict(calendar(**year).estimated_holidays())
    assert set(estimated) == {date(2026, 3, 20), date(2026, 5, 27)}
    assert calendar(country="MW").estimated_holidays() == ()
    assert calendar().estimated_holidays() == ()


@pytest.mark.parametrize("language", ["fr", "en", "sw"])
def test_estimates_are_told_in_any_language(language: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LANGUAGE", "fr")  # the computer's own language changes nothing
    year = {"country": "SN", "first_day": date(2026, 3, 1), "last_day": date(2026, 6, 14), "language": language}
    found = calendar(**year)
    assert [day for day, _ in found.estimated_holidays()] == [date(2026, 3, 20), date(2026, 5, 27)]
    easter_monday = "Lundi de Pâques" if language == "fr" else "Easter Monday"
    assert found.holiday(date(2026, 4, 6)) == easter_monday


@pytest.mark.parametrize("country", ["SA", "ET", "BD", "ID", "TZ"])
def test_feasts_of_a_later_year_are_estimates_in_many_countries(country: str) -> None:
    """Eid al-Fitr of 2031 falls in late January by the tabular calendar (calc) and nobody has announced it."""
    window = {"country": country, "first_day": date(2031, 1, 15), "last_day": date(2031, 2, 5)}
    assert calendar(**window).estimated_holidays()


def test_estimates_are_found_in_every_year_that_the_window_touches() -> None:
    window = {"country": "SN", "first_day": date(2026, 5, 1), "last_day": date(2027, 5, 31)}
    years = {day.year for day, _ in calendar(**window).estimated_holidays()}
    assert years == {2026, 2027}
