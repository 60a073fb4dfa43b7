"""The working calendar: public holidays, rest days, dates on which sessions can stand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from roundplan.domain.training_round import TrainingRound

_ONE_DAY = timedelta(days=1)


class UnknownCountry(ValueError):
    """The country or subdivision has no list of public holidays."""


class WorkingCalendar:
    """Which dates are worked, by the round's country, working days and closed days."""

    def __init__(self, training_round: TrainingRound) -> None:
        self._round = training_round
        self._settings = training_round.settings.round
        self._holidays = _public_holidays(self._settings.country, self._settings.subdivision, self._settings.language)
        self._rest: dict[date, bool] = {}
        self._dates: tuple[date, ...] | None = None

    def holiday(self, day: date) -> str | None:
        """Return the name of the public holiday on the date, if it is one."""
        return None if self._holidays is None else self._holidays.get(day)

    def is_rest_day(self, day: date) -> bool:
        """Whether the date is no working weekday, or a public holiday."""
        found = self._rest.get(day)
        if found is None:
            off = day.weekday() not in self._settings.working_days
            found = self._rest[day] = off or self.holiday(day) is not None
        return found

    def is_session_day(self, day: date) -> bool:
        """Whether sessions can stand on the date: in the window, no rest day, not closed for the round."""
        window, closed = self._settings.window, self._settings.closed_days
        return day in window and day not in closed and not self.is_rest_day(day)

    def venue_open(self, site: str, day: date) -> bool:
        """Whether a session can stand on the date at the site."""
        return self.is_session_day(day) and day not in self._round.site(site).closed_days

    def session_dates(self) -> tuple[date, ...]:
        """Return all dates of the window on which sessions can stand."""
        if self._dates is None:
            self._dates = tuple(day for day in self._settings.window if self.is_session_day(day))
        return self._dates

    def working_days_before(self, day: date, count: int) -> date:
        """Return the date that lies ``count`` working days before ``day`` (rest days are not counted).

        Every date counts where the round has no working weekday at all.
        """
        if not self._settings.working_days:
            return day - count * _ONE_DAY
        while count > 0:
            day -= _ONE_DAY
            count -= not self.is_rest_day(day)
        return day

    def estimated_holidays(self) -> tuple[tuple[date, str], ...]:
        """Return the holidays of the window whose dates are estimates (they depend on the moon)."""
        label = getattr(self._holidays, "estimated_label", None)
        if label is None:
            return ()
        mark = self._holidays.tr(label).strip("%s ()（）")
        named = ((day, self.holiday(day)) for day in self._settings.window)
        return tuple((day, name) for day, name in named if name is not None and mark in name)


def _public_holidays(country: str, subdivision: str, language: str) -> Any:
    """Return the public holidays, a mapping from date to name; None where no country is given."""
    if not country:
        return None
    import holidays

    make, place = holidays.country_holidays, subdivision or None
    try:
        plain = make(country, subdiv=place)
    except (AttributeError, NotImplementedError, TypeError):
        where = f"{country}, {subdivision}" if subdivision else country
        raise UnknownCountry(f"no public holidays are known for {where}") from None
    options: dict[str, Any] = {}
    if "islamic_show_estimated" in getattr(plain, "get_supported_options", dict[str, Any])():
        options["islamic_show_estimated"] = True
    return make(country, subdiv=place, language=_spoken(plain, language), **options)


def _spoken(plain: Any, language: str) -> str | None:
    """Return the language of holiday names: the round's, else English, else the country's own.

    It is always said, because names would else follow the settings of the computer.
    """
    base = language.replace("_", "-").split("-")[0].lower()
    known = tuple(plain.supported_languages)
    wanted = (*(code for code in known if code.split("_")[0] == base), *(code for code in known if code == "en_US"))
    own: str | None = plain.default_language
    return wanted[0] if wanted else own
