"""How each key of round.toml is read: the same kinds as for the cells of the tables."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from roundplan.domain.means import SearchMode
from roundplan.domain.role import Paper, Surface, Weekend
from roundplan.domain.rules import Aim
from roundplan.intake.day_kinds import CLOCK, DATE, DAYS, PAUSES, WEEKDAYS, parts_of, refuse_commas
from roundplan.intake.finding import BadCell, nearest, quoted
from roundplan.intake.kinds import MONEY, TEXT, Kind, number, whole
from roundplan.intake.word_kinds import LANGUAGE, NONE, ROLES, YES_NO, one_of

POOLED = "pooled"
_FILE_NAME = re.compile(r"[\w][\w .\-]{0,80}\.(geojson|json)", re.IGNORECASE)
_TILES = re.compile(r"https://[A-Za-z0-9.\-]{1,200}(:\d{1,5})?/[A-Za-z0-9._~/{}?=&%+\-]{1,300}", re.ASCII)
_FIELD = re.compile(r"[{][^{}]*[}]|[{}]")
MOST_DATES = 732


def _lookup(text: str, known: tuple[str, ...], what: str, otherwise: str) -> str:
    """Return the known word, whatever its case, or raise with the nearest offered."""
    by_fold = {name.casefold(): name for name in known}
    if text.casefold() in by_fold:
        return by_fold[text.casefold()]
    near = nearest(text, known)
    raise BadCell("unknown-word", f"is no {what}", f"did you mean {near}?" if near else otherwise)


@cache
def _zones() -> tuple[str, ...]:
    import zoneinfo

    return tuple(sorted(zoneinfo.available_timezones()))


@cache
def _countries() -> tuple[str, ...]:
    from babel import Locale

    codes = [str(code) for code in Locale("en").territories]
    return tuple(code for code in codes if len(code) == 2 and code.isalpha() and code != "ZZ")


@cache
def currencies() -> tuple[str, ...]:
    """Return the currency codes of ISO 4217, those of old included."""
    from babel import Locale

    return tuple(str(code) for code in Locale("en").currencies)


def _read_zone(text: str, _digits: int) -> str:
    return _lookup(text, _zones(), "time zone", "use a name of the IANA list, such as Africa/Lusaka")


def _read_country(text: str, _digits: int) -> str:
    if len(text) != 2 or text.upper() not in _countries():
        raise BadCell("unknown-word", "is no country code", "use two letters of ISO 3166-1, such as ZM")
    import holidays

    if text.upper() not in holidays.list_supported_countries(include_aliases=True):
        remedy = "leave country blank and enter the holidays as closed_days"
        raise BadCell("unknown-word", "is a country whose public holidays are not known", remedy)
    return text.upper()


def _read_currency(text: str, _digits: int) -> str:
    return _lookup(text, currencies(), "currency code", "use three letters of ISO 4217, such as ZMW")


def _guests_kind() -> Kind:
    plain = whole(0, 20)

    def read(text: str, digits: int) -> int | str:
        return POOLED if text.casefold() == POOLED else int(plain.read(text, digits))

    return Kind('whole number, or "pooled"', read, plain.write, 1, form="number")


def _price_kind() -> Kind:
    def read(text: str, digits: int) -> int | str:
        return NONE if text.casefold() == NONE else int(MONEY.read(text, digits))

    return Kind('amount in the round\'s currency, or "none"', read, MONEY.write, 0, form="number")


def _read_file_name(text: str, _digits: int) -> str:
    if not _FILE_NAME.fullmatch(text):
        remedy = "put the file beside round.toml and give its name alone, such as districts.geojson"
        raise BadCell("bad-file-name", "is no name of a GeoJSON file", remedy)
    return text


def _read_tiles(text: str, _digits: int) -> str:
    """Read the address of map pictures: nothing in it can end a string or a policy of the page that it goes into."""
    if not _TILES.fullmatch(text) or sorted(_FIELD.findall(text)) != ["{x}", "{y}", "{z}"]:
        remedy = "use an address such as https://pictures.example/{z}/{x}/{y}.png"
        raise BadCell("bad-address", "is no address of map pictures", remedy)
    return text


def _by_word(words: dict[str, Any], value: Kind, *, none: bool, what: str) -> Kind:
    """Return the kind of a small table: word and number, ``word = none`` taking an entry away where allowed."""
    known = tuple(words)

    def read(text: str, digits: int) -> dict[Any, float | None]:
        refuse_commas(text)
        found: dict[Any, float | None] = {}
        for part in parts_of(text):
            name, _, amount = part.rpartition(" ")
            try:
                key = words[_lookup(name.replace("_", " ").strip(), known, what, "use one of: " + ", ".join(known))]
                found[key] = None if none and amount.casefold() == NONE else value.read(amount, digits)
            except BadCell as bad:
                raise BadCell(bad.code, f"{quoted(part)} {bad.words}", bad.remedy) from None
        return found

    def write(mapping: Any, digits: int) -> str:
        entries = [(word, mapping.get(key)) for word, key in words.items()]
        return "; ".join(
            f"{word} {NONE if amount is None else value.write(amount, digits)}"
            for word, amount in entries
            if amount is not None or none
        )

    return Kind(f"a {what} and a number each", read, write, {}, form="table")


_SURFACES = {surface.value: surface for surface in Surface}
_AIMS = {aim.value: aim.value for aim in Aim}
_MINUTES, _DAYS, _MONTHS, _COUNT = whole(0, 600), whole(0, 400), whole(0, 240), whole(0, 99)
_SPEED = number(0, 200, above_low=True)
_HOURS = number(0, 48)
_PRICE = _price_kind()

KINDS: dict[str, dict[str, Kind]] = {
    "round": {
        "name": TEXT,
        "first_day": DATE,
        "last_day": DATE,
        "plan_date": DATE,
        "announce_on": DATE,
        "time_zone": Kind("IANA name", _read_zone, lambda v, _: str(v), "UTC"),
        "country": Kind("ISO 3166-1 alpha-2", _read_country, lambda v, _: str(v), ""),
        "subdivision": TEXT,
        "closed_days": DAYS,
        "working_days": WEEKDAYS,
        "currency": Kind("ISO 4217", _read_currency, lambda v, _: str(v), "XXX"),
        "language": LANGUAGE,
        "paper": one_of(Paper, "paper"),
        "wet_from": DATE,
        "wet_to": DATE,
        "purge_on": DATE,
    },
    "session": {
        "days": whole(1, 3),
        "days_per_team": whole(1, 3),
        "short_sessions": YES_NO,
        "start_every": number(0, 60),
        "teach_from": CLOCK,
        "teach_to": CLOCK,
        "opening": _MINUTES,
        "brief": _MINUTES,
        "simulate": whole(1, 600),
        "debrief": _MINUTES,
        "reset": _MINUTES,
        "lunch": _MINUTES,
        "pause": PAUSES,
        "closing": _MINUTES,
        "reserve_slots": whole(0, 20),
        "demonstrations": whole(0, 20),
        "simulations_per_team": whole(1, 20),
        "learners_per_station": whole(1, 200),
        "room_limit": whole(1, 500),
        "volunteers_per_station": _COUNT,
        "wall_minutes": _MINUTES,
    },
    "teams": {
        "guests": _guests_kind(),
        "empty_seats": whole(0, 20),
        "notice_off_site": _DAYS,
        "notice_on_site": _DAYS,
        "refresher_months": _MONTHS,
        "alarm_months": _MONTHS,
    },
    "cover": {
        "day_from": CLOCK,
        "night_from": CLOCK,
        "keep_team": ROLES,
        "keep_team_night": ROLES,
        "run": whole(1, 60),
        "spare_without_roster": whole(0, 20),
        "theatre_minutes": whole(0, 600),
    },
    "travel": {
        "detour": number(1, 10),
        "default_speed": _SPEED,
        "speeds": _by_word(_SURFACES, _SPEED, none=False, what="surface"),
        "wet_factors": _by_word(_SURFACES, number(0, 1, above_low=True), none=True, what="surface"),
        "factor_entered": number(0.1, 10),
        "factor_modelled": number(0.1, 10),
        "crew_margin": _MINUTES,
        "participant_margin": _MINUTES,
        "daylight": YES_NO,
        "day_limit": _HOURS,
        "overnight_limit": _HOURS,
        "wheel_hours": number(0, 24, above_low=True),
        "break_every": number(0, 24),
        "break_minutes": _MINUTES,
        "set_up": _MINUTES,
        "pack_up": _MINUTES,
        "duty_day": number(0, 24, above_low=True),
        "person_kg": number(0, 300),
        "luggage_kg": number(0, 300),
        "payload_reserve": number(0, 1, below_high=True),
    },
    "trainers": {
        "per_station": whole(2, 20),
        "nights_limit": whole(0, 365),
        "days_in_a_row": whole(1, 365),
        "weekend": one_of(Weekend, "choice"),
    },
    "prices": {
        **dict.fromkeys(
            (
                "participant_day",
                "participant_night",
                "trainer_day",
                "trainer_night",
                "driver_day",
                "driver_night",
                "fare_per_km",
                "lunch",
                "venue_day",
                "lodging",
                "printing",
            ),
            _PRICE,
        ),
        "contingency_percent": number(0, 100),
        "cap": _PRICE,
    },
    "aims": {
        "give_up": _by_word(_AIMS, number(0, 1), none=False, what="tier"),
        "floor_per_district": _COUNT,
    },
    "map": {
        "base": Kind("name of a file", _read_file_name, lambda v, _: str(v), ""),
        "tiles": Kind("https address", _read_tiles, lambda v, _: str(v), ""),
        "tiles_credit": TEXT,
    },
    "search": {
        "seconds": number(0, 1_000_000, above_low=True),
        "seed": whole(0, 2_147_483_647),
        "workers": whole(1, 512),
        "work_limit": number(0, 1_000_000, above_low=True),
        "reproducible": YES_NO,
        "search": one_of(SearchMode, "search"),
        "processes": whole(1, 512),
    },
}
"""Kind of each key by section."""
