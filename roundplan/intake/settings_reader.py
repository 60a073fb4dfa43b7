"""Entries of round.toml → :class:`Settings`, every finding gathered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from roundplan.domain.rules import Aim
from roundplan.domain.settings import (
    AimSettings,
    CoverSettings,
    MapSettings,
    PriceSettings,
    RoundSettings,
    SearchSettings,
    SessionSettings,
    Settings,
    TeamSettings,
    TrainerSettings,
    TravelSettings,
)
from roundplan.intake.cleaning import forbidden_character
from roundplan.intake.finding import BadCell, Finding, did_you_mean, nearest, quoted
from roundplan.intake.setting_kinds import KINDS, MOST_DATES, POOLED
from roundplan.intake.settings_source import ROUND_TOML, Entry, shown, text_for
from roundplan.intake.word_kinds import NONE

_TYPES: dict[str, Any] = {
    "round": RoundSettings,
    "session": SessionSettings,
    "teams": TeamSettings,
    "cover": CoverSettings,
    "travel": TravelSettings,
    "trainers": TrainerSettings,
    "prices": PriceSettings,
    "aims": AimSettings,
    "map": MapSettings,
    "search": SearchSettings,
}
REQUIRED = ("name", "first_day", "last_day")


@dataclass(slots=True)
class SettingsRead:
    """The settings, and where each entry stands.

    Attributes
    ----------
    entries : dict
        Entry by ``section.key``, blank ones left out.
    blanks : dict
        The blank ones.
    bad : set of str
        Keys that have a finding already.
    """

    settings: Settings
    entries: dict[str, Entry] = field(default_factory=dict)
    blanks: dict[str, Entry] = field(default_factory=dict)
    bad: set[str] = field(default_factory=set)

    def finding(self, code: str, column: str, words: str, remedy: str) -> Finding:
        """Return a finding at a key, located where the key was entered."""
        entry = self.entries.get(column) or self.blanks.get(column)
        file, row = (entry.file, entry.row) if entry else (ROUND_TOML, None)
        cell = shown(entry.value) if entry else ""
        return Finding(code=code, file=file, row=row, column=column, cell=cell, words=words, remedy=remedy)


def read_settings(entries: list[Entry] | None, today: date, findings: list[Finding]) -> SettingsRead:
    """Build the settings; a key that cannot be read keeps its default and gets a finding.

    Parameters
    ----------
    entries : list of Entry or None
        What was entered; None = unreadable, which has its finding already.
    today : date
        Stands in for a blank ``plan_date``.
    findings : list of Finding
        Grows.
    """
    read = SettingsRead(Settings())
    texts: dict[str, str] = {}
    if entries is None:
        read.bad.update(f"{section}.{key}" for section, keys in KINDS.items() for key in keys)
    for entry in entries or ():
        findings.extend(_unknown(entry, read))
        if entry.key in KINDS.get(entry.section, {}):
            texts.update(_text(entry, read, findings))
    values: dict[str, dict[str, Any]] = {section: {} for section in KINDS}
    digits = 2
    for section, kinds in KINDS.items():
        for key, kind in kinds.items():
            column = f"{section}.{key}"
            if column in texts:
                try:
                    values[section][key] = kind.read(texts[column], digits)
                except BadCell as bad:
                    read.bad.add(column)
                    findings.append(read.finding(bad.code, column, bad.words, bad.remedy))
        if section == "round":
            digits = _digits(values["round"])
    for key in REQUIRED:
        if key not in values["round"] and f"round.{key}" not in read.bad:
            remedy = f"fill in {key} in the section [round]"
            findings.append(read.finding("blank-required", f"round.{key}", f"the round's {key} is missing", remedy))
            read.bad.add(f"round.{key}")
    values["round"].setdefault("plan_date", today)
    read.settings = _build(values)
    findings.extend(_checks(read))
    return read


def _digits(values: dict[str, Any]) -> int:
    from babel.numbers import get_currency_precision

    values["currency_digits"] = get_currency_precision(values.get("currency", "XXX"))
    return int(values["currency_digits"])


def _text(entry: Entry, read: SettingsRead, findings: list[Finding]) -> Iterator[tuple[str, str]]:
    """Yield the key and its text if it is filled in and of a fitting type."""
    column = entry.column
    if column in read.entries:
        words = f"{column} stands in row {read.entries[column].row} too"
        found = Finding(code="key-twice", file=entry.file, row=entry.row, column=column, words=words, remedy="keep one")
        findings.append(found)
        return
    try:
        text = text_for(entry.value, KINDS[entry.section][entry.key])
        bad_character = forbidden_character(text)
        if bad_character is not None:
            words = f"holds the character {quoted(bad_character)} that cannot be shown"
            raise BadCell("bad-character", words, "type it anew")
    except BadCell as bad:
        read.entries[column] = entry
        read.bad.add(column)
        findings.append(read.finding(bad.code, column, bad.words, bad.remedy))
        return
    (read.entries if text else read.blanks)[column] = entry
    if text:
        yield column, text


def _unknown(entry: Entry, read: SettingsRead) -> Iterator[Finding]:
    def found(code: str, words: str, remedy: str) -> Finding:
        return Finding(code=code, file=entry.file, row=entry.row, column=entry.column, words=words, remedy=remedy)

    if not entry.section:
        home = [f"[{section}]" for section, keys in KINDS.items() if entry.key in keys]
        remedy = f"put it below {home[0]}" if home else "put each key below its section, such as [round]"
        yield found("unknown-key", f"{quoted(entry.key)} stands in no section", remedy)
    elif entry.section not in KINDS:
        remedy = did_you_mean(entry.section, list(KINDS), "sections are: " + ", ".join(KINDS))
        yield found("unknown-key", f"there is no section [{entry.section}]", remedy)
    elif entry.key not in KINDS[entry.section]:
        other = next((section for section, keys in KINDS.items() if entry.key in keys), None)
        near = nearest(entry.key, KINDS[entry.section])
        remedy = f"put it below [{other}]" if other else f"did you mean {near}?" if near else "see the guide"
        yield found("unknown-key", f"[{entry.section}] has no key {quoted(entry.key)}", remedy)


def _build(values: dict[str, dict[str, Any]]) -> Settings:
    teams, prices, travel = values["teams"], values["prices"], values["travel"]
    if teams.get("guests") == POOLED:
        teams.pop("guests")
        teams["guests_pooled"] = True
    if prices.get("cap") == NONE:
        prices.pop("cap")
    left_out = frozenset(key for key, value in prices.items() if value == NONE)
    prices.update(dict.fromkeys(left_out, 0))
    prices["left_out"] = left_out
    defaults = TravelSettings()
    for key, usual in (("speeds", defaults.speeds), ("wet_factors", defaults.wet_factors)):
        merged = {**usual, **travel.get(key, {})}
        travel[key] = {surface: value for surface, value in merged.items() if value is not None}
    return Settings(**{section: _TYPES[section](**group) for section, group in values.items()})


def _checks(read: SettingsRead) -> Iterator[Finding]:
    """Yield what is wrong between keys, cross-checks of the domain apart."""
    settings = read.settings.round
    if (settings.wet_from is None) != (settings.wet_to is None):
        given = "wet_from" if settings.wet_to is None else "wet_to"
        words = "the wet season has only one of its dates"
        yield read.finding("half-given", f"round.{given}", words, "enter both wet_from and wet_to, or neither")
    elif settings.wet_from and settings.wet_to and settings.wet_to < settings.wet_from:
        yield read.finding("ends-before-start", "round.wet_to", "the wet season ends before it starts", "check both")
    if not read.bad & {"round.first_day", "round.last_day"}:
        dates = (settings.last_day - settings.first_day).days + 1
        if dates > MOST_DATES:
            words = f"the round lasts {dates:,} dates; a round has at most {MOST_DATES}"
            yield read.finding("out-of-range", "round.last_day", words, "plan a shorter round")
    if read.settings.aims.give_up.get(Aim.FIRST_TEAMS, 0) >= 1:
        words = f"giving up all of “{Aim.FIRST_TEAMS}” leaves no team"
        yield read.finding("out-of-range", "aims.give_up", words, "enter a share under 1 for that tier")
    if settings.subdivision:
        yield from _subdivision(read)
    if read.settings.map.tiles and not read.settings.map.tiles_credit and "map.tiles_credit" not in read.bad:
        words = "does not say whom the pictures are by"
        yield read.finding("half-given", "map.tiles", words, "enter tiles_credit, as those who offer them ask")
    if "round.working_days" in read.entries and not settings.working_days and "round.working_days" not in read.bad:
        yield read.finding("blank-required", "round.working_days", "names no weekday", "enter at least one of MO–SU")


def _subdivision(read: SettingsRead) -> Iterator[Finding]:
    import holidays

    settings = read.settings.round
    known = list(holidays.list_supported_countries(include_aliases=True).get(settings.country, []))
    if not settings.country and "round.country" not in read.bad:
        words, remedy = "a subdivision needs its country", "enter country too, or clear subdivision"
        yield read.finding("half-given", "round.subdivision", words, remedy)
    elif settings.subdivision not in known and "round.country" not in read.bad:
        otherwise = "use one of: " + ", ".join(known) if known else "clear subdivision"
        remedy = did_you_mean(settings.subdivision, known, otherwise)
        words = f"is no part of {settings.country} with holidays of its own"
        yield read.finding("unknown-word", "round.subdivision", words, remedy)
