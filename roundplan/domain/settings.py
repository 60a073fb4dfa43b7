"""Every setting of ``round.toml``: meaning, unit, default and source in this one place.

The guide sheet and the README table are made from :func:`setting_rows`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from roundplan.domain.dates import DaySet, Window
from roundplan.domain.means import SearchMode
from roundplan.domain.role import MINIMUM_ROLES, Paper, Role, Surface, Weekend

CP = "common practice, no source"
CHOICE = "the manager's choice"


def _key(default: Any, meaning: str, unit: str = "", source: str = CHOICE, **more: Any) -> Any:
    """Declare one setting with what the guide says of it."""
    words = {"meaning": meaning, "unit": unit, "source": source}
    if callable(default):
        return dataclasses.field(default_factory=default, metadata=words, **more)
    return dataclasses.field(default=default, metadata=words, **more)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundSettings:
    """``[round]``: what the round is and when it is held."""

    name: str = _key("", "name of the round")
    first_day: date = _key(date.min, "first date of the round", "date")
    last_day: date = _key(date.max, "last date of the round", "date")
    plan_date: date | None = _key(None, "date of planning; orders and notice count from it", "date")
    announce_on: date | None = _key(None, "date on which facilities are told; blank = plan_date", "date")
    time_zone: str = _key("UTC", "time zone of all times", "IANA name")
    country: str = _key("", "country of the public holidays; blank = none", "ISO 3166-1 alpha-2")
    subdivision: str = _key("", "its state or province", "ISO 3166-2 part")
    closed_days: DaySet = _key(DaySet(), "dates on which nothing is held", "MO–SU, dates, date/date")
    working_days: frozenset[int] = _key(
        frozenset({0, 1, 2, 3, 4}), "weekdays on which sessions can be held", "MO–SU", CP
    )
    currency: str = _key("XXX", "currency of all prices", "ISO 4217")
    currency_digits: int = _key(2, "decimals of the currency (from ISO 4217, not entered)", "", "ISO 4217")
    language: str = _key("en", "language of documents unless a reader has another", "BCP 47")
    paper: Paper = _key(
        Paper.A4, "size of paper that documents are printed on", "a4 or letter", "ISO 216; ANSI/ASME Y14.1"
    )
    wet_from: date | None = _key(None, "first date of the wet season", "date")
    wet_to: date | None = _key(None, "last date of the wet season", "date")
    purge_on: date | None = _key(None, "date on which contacts and replies are removed", "date")

    @property
    def window(self) -> Window:
        """The dates of the round."""
        return Window(self.first_day, self.last_day)

    def is_wet(self, day: date) -> bool:
        """Whether wet-season speeds apply."""
        return self.wet_from is not None and self.wet_to is not None and self.wet_from <= day <= self.wet_to


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionSettings:
    """``[session]``: what a session is made of. Times of day are seconds after midnight."""

    days: int = _key(1, "consecutive dates of a session, 1 to 3", "dates", CP)
    days_per_team: int = _key(1, "consecutive dates a team attends", "dates", CP)
    short_sessions: bool = _key(False, "one-date sessions may share crew and date, one after another", "yes/no")
    start_every: float = _key(
        5.0,
        "starts tried, every so many minutes from teach_from; 0 = any minute (short sessions: any second)",
        "minutes",
        CP,
    )
    teach_from: int = _key(8 * 3600, "earliest start of a session", "time", CP)
    teach_to: int = _key(16 * 3600 + 1800, "latest end of a session", "time", CP)
    opening: int = _key(30, "welcome, safety talk, tour of the model", "minutes", CP)
    brief: int = _key(10, "brief before a simulation", "minutes", CP)
    simulate: int = _key(15, "simulation", "minutes", CP)
    debrief: int = _key(30, "debrief; at least as long as the simulation", "minutes", CP)
    reset: int = _key(15, "reset of station and wall", "minutes", CP)
    lunch: int = _key(45, "lunch, if the session spans noon", "minutes", CP)
    pause: tuple[tuple[int, int], ...] = _key((), "pauses at set times, such as prayer", "HH:MM/HH:MM")
    closing: int = _key(15, "closing and count of sharps", "minutes", CP)
    reserve_slots: int = _key(1, "slots kept free a station-day with more than one team", "slots", CP)
    demonstrations: int = _key(0, "demonstrations each station shows a day", "slots", CP)
    simulations_per_team: int = _key(2, "simulations each team runs", "simulations", CP)
    learners_per_station: int = _key(12, "most learners a station", "people", CP)
    room_limit: int = _key(18, "most bodies a station, where the venue says nothing", "people", "Fraga-Sastrías 2023")
    volunteers_per_station: int = _key(1, "volunteers who play the patient, a station", "people", CP)
    wall_minutes: int = _key(20, "time to assemble one wall", "minutes", CP)

    @property
    def shares_days(self) -> bool:
        """Whether a crew may hold several sessions on one date."""
        return self.short_sessions and self.days == 1

    @property
    def start_step(self) -> int:
        """Seconds between the starts that the search considers; whole minutes where sessions last whole days."""
        return max(round(self.start_every * 60), 1 if self.shares_days else 60)

    @property
    def slot_seconds(self) -> int:
        """Length of a slot: brief, simulation, debrief, reset."""
        return 60 * (self.brief + self.simulate + self.debrief + self.reset)


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamSettings:
    """``[teams]``."""

    guests: int = _key(1, 'most guests a team, at most half of it; "pooled" = any mix of facilities', "people", CP)
    guests_pooled: bool = _key(False, 'guests = "pooled": any mix of facilities in a team', "yes/no")
    empty_seats: int = _key(1, "usual roles outside the minimum that may stay empty, a team", "seats", CP)
    notice_off_site: int = _key(28, "days from announcement to a session away from home", "days", CP)
    notice_on_site: int = _key(14, "days from announcement to a session at home", "days", CP)
    refresher_months: int = _key(6, "nobody is trained again sooner", "months", "Lee 2019")
    alarm_months: int = _key(12, "training older than this triples a facility's weight", "months", "Lee 2019")


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverSettings:
    """``[cover]``."""

    day_from: int = _key(8 * 3600, "start of the day shift", "time", CP)
    night_from: int = _key(20 * 3600, "start of the night shift", "time", CP)
    keep_team: tuple[Role, ...] | None = _key(
        None, "roles that stay filled by day; blank = the minimum, plus newborn care where usual", "roles", CP
    )
    keep_team_night: tuple[Role, ...] = _key(MINIMUM_ROLES, "roles that stay filled by night", "roles", CP)
    run: int = _key(2, "most consecutive shifts one person is named for", "shifts", CP)
    spare_without_roster: int = _key(
        0, "people more to stay in each minimum role where a shift has no roster", "people", CP
    )
    theatre_minutes: int = _key(5, "walk from session room to theatre within which on-site staff may count", "min", CP)


@dataclass(frozen=True, slots=True, kw_only=True)
class TravelSettings:
    """``[travel]``."""

    detour: float = _key(1.4, "road length over straight line, where no road is entered", "factor", CP)
    default_speed: float = _key(40.0, "speed where no surface is entered", "km/h", CP)
    speeds: dict[Surface, float] = _key(
        lambda: {Surface.PAVED: 60.0, Surface.GRAVEL: 40.0, Surface.EARTH: 25.0, Surface.TRACK: 15.0},
        "speed by surface",
        "km/h",
        "CP within published accessibility work",
    )
    wet_factors: dict[Surface, float] = _key(
        lambda: {Surface.PAVED: 0.9, Surface.GRAVEL: 0.75, Surface.EARTH: 0.5},
        "speed in the wet season over that in the dry; none = closed",
        "factor",
        CP,
    )
    factor_entered: float = _key(1.0, "on entered hours", "factor", CP)
    factor_modelled: float = _key(1.25, "on computed hours", "factor", CP)
    crew_margin: int = _key(60, "crews arrive so long before sunset", "minutes", CP)
    participant_margin: int = _key(30, "participants arrive so long before sunset", "minutes", CP)
    daylight: bool = _key(True, "journeys are made in daylight only", "yes/no", CP)
    day_limit: float = _key(2.0, "one way on the day itself, home to venue", "hours", CP)
    overnight_limit: float = _key(5.0, "one way with lodging before and after", "hours", CP)
    wheel_hours: float = _key(8.0, "one driver's hours at the wheel a day", "hours", "ceiling EU 561/2006: 9 h")
    break_every: float = _key(2.0, "a break after so long at the wheel; 0 = none", "hours", CP)
    break_minutes: int = _key(15, "length of a break", "minutes", CP)
    set_up: int = _key(60, "set-up from arrival to the session", "minutes", CP)
    pack_up: int = _key(45, "pack-up from the session to departure", "minutes", CP)
    duty_day: float = _key(12.0, "longest day of driver and trainers", "hours", CP)
    person_kg: float = _key(75.0, "a person's weight", "kg", "CP; 610 kg less 5 × 75 kg leaves 235 kg")
    luggage_kg: float = _key(15.0, "luggage a person", "kg", CP)
    payload_reserve: float = _key(0.2, "share of the payload kept free", "share", CP)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrainerSettings:
    """``[trainers]``."""

    per_station: int = _key(2, "trainers at a running station", "people", CP)
    nights_limit: int = _key(12, "nights away in a row", "nights", CP)
    days_in_a_row: int = _key(6, "working days in a row, travel days counted", "days", CP)
    weekend: Weekend = _key(Weekend.EITHER, "rest days at home, away (no driving), or either", "", CP)


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceSettings:
    """``[prices]``, in minor units; None = not entered, 0 with the key in ``left_out`` = ``"none"``."""

    participant_day: int | None = _key(None, "allowance a participant and day away from home", "money", "entered")
    participant_night: int | None = _key(None, "allowance a participant and night away", "money", "entered")
    trainer_day: int | None = _key(None, "fee or allowance a trainer and day", "money", "entered")
    trainer_night: int | None = _key(None, "allowance a trainer and night away", "money", "entered")
    driver_day: int | None = _key(None, "fee or allowance a driver and day", "money", "entered")
    driver_night: int | None = _key(None, "allowance a driver and night away", "money", "entered")
    fare_per_km: int | None = _key(None, "participants' transport a person and kilometre", "money", "entered")
    lunch: int | None = _key(None, "lunch a person and session date", "money", "entered")
    venue_day: int | None = _key(None, "a venue and date, where it has no price of its own", "money", "entered")
    lodging: int | None = _key(None, "a person-night of lodging, where it has no price of its own", "money", "entered")
    printing: int | None = _key(None, "printing a participant", "money", "entered")
    contingency_percent: float = _key(0.0, "added to the total", "%", "entered")
    cap: int | None = _key(None, "most the round may cost, contingency included; blank = none", "money")
    left_out: frozenset[str] = _key(frozenset(), 'lines left out on purpose ("none")')

    def price(self, key: str) -> int:
        """Return the price in minor units, 0 where none is entered or the line is left out."""
        value = getattr(self, key)
        return 0 if value is None else int(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class AimSettings:
    """``[aims]``."""

    give_up: dict[str, float] = _key(dict, "share of a tier that may be given up for later ones, by tier", "share")
    floor_per_district: int = _key(0, "least teams from each district", "teams")


@dataclass(frozen=True, slots=True, kw_only=True)
class MapSettings:
    """``[map]``: what the map is drawn on; it opens with no network unless ``tiles`` asks for one."""

    base: str = _key("", "file beside round.toml with outlines of your own; blank = country outlines", "GeoJSON file")
    tiles: str = _key(
        "", "address of background pictures that the opened map loads; blank = none, no network", "https, {z} {x} {y}"
    )
    tiles_credit: str = _key("", "whom the background pictures are by, shown below the map", "text")


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchSettings:
    """``[search]``."""

    seconds: float = _key(60.0, "time for the search", "seconds")
    seed: int = _key(1, "seed of the search", "")
    workers: int = _key(2, "processor cores to use", "cores")
    work_limit: float = _key(60.0, "deterministic work in reproducible mode", "solver's unit")
    reproducible: bool = _key(False, "the same plan every time from the same tables", "yes/no")
    search: SearchMode = _key(SearchMode.AUTO, "one model (integrated), in parts (decomposed), or as fits (auto)")
    processes: int | None = _key(None, "processes of the decomposed search; blank = workers", "processes")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All of ``round.toml``."""

    round: RoundSettings = RoundSettings()
    session: SessionSettings = SessionSettings()
    teams: TeamSettings = TeamSettings()
    cover: CoverSettings = CoverSettings()
    travel: TravelSettings = dataclasses.field(default_factory=TravelSettings)
    trainers: TrainerSettings = TrainerSettings()
    prices: PriceSettings = PriceSettings()
    aims: AimSettings = dataclasses.field(default_factory=AimSettings)
    map: MapSettings = MapSettings()
    search: SearchSettings = SearchSettings()


NOT_ENTERED = frozenset({"round.currency_digits", "prices.left_out", "teams.guests_pooled"})
"""Fields that other keys decide; they are no keys of round.toml."""


@dataclass(frozen=True, slots=True)
class SettingRow:
    """What the guide says of one key."""

    section: str
    key: str
    meaning: str
    unit: str
    default: object
    source: str


def setting_rows() -> Iterator[SettingRow]:
    """Yield every key of round.toml in order, with meaning, unit, default and source."""
    defaults = Settings()
    for section in dataclasses.fields(Settings):
        group = getattr(defaults, section.name)
        for entry in dataclasses.fields(group):
            if f"{section.name}.{entry.name}" not in NOT_ENTERED:
                yield SettingRow(
                    section.name,
                    entry.name,
                    entry.metadata["meaning"],
                    entry.metadata["unit"],
                    getattr(group, entry.name),
                    entry.metadata["source"],
                )
