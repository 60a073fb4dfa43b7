"""round.toml: every finding, and what the values become."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from intake_small_inputs import TODAY, TOML, findings_of, tables, write

from roundplan.domain.role import Role, Surface
from roundplan.domain.settings import NOT_ENTERED, setting_rows
from roundplan.intake import read_round
from roundplan.intake.setting_kinds import KINDS


def test_every_key_has_a_kind() -> None:
    assert [(row.section, row.key) for row in setting_rows()] == [
        (section, key) for section, keys in KINDS.items() for key in keys
    ]
    assert not {f"{s}.{k}" for s, keys in KINDS.items() for k in keys} & NOT_ENTERED


FINDINGS = [
    ("[session]\nopenin = 5", 'round.toml, line 23, session.openin: [session] has no key “openin” — '
     "did you mean opening?"),
    ("[sesion]\nopening = 5", "round.toml, line 22, sesion: there is no section [sesion] — did you mean session?"),
    ("[teams]\nopening = 5", "round.toml, line 23, teams.opening: [teams] has no key “opening” — "
     "put it below [session]"),
    ('[session]\nopening = "thirty"', "round.toml, line 23, session.opening, “thirty”: is not a number — "
     "write digits, with a point for decimals, such as 12.5"),
    ("[session]\nopening = [30]", "round.toml, line 23, session.opening, “30”: is a list, where whole number, "
     "0 to 600 is wanted — see the guide for an example"),
    ("[session]\nopening = true", "round.toml, line 23, session.opening, “true”: is true or false, where whole number, "
     "0 to 600 is wanted — see the guide for an example"),
    ('[session]\nteach_from = "8 am"', "round.toml, line 23, session.teach_from, “8 am”: is not a time of day — "
     "write hours and minutes, such as 08:30"),
    ('[session]\npause = ["12:30-13:00"]', "round.toml, line 23, session.pause, “12:30-13:00”: “12:30-13:00” "
     "is not a pause — write start/end, such as 12:30/13:00"),
    ('[cover]\nkeep_team = ["anaesthetists"]', "round.toml, line 23, cover.keep_team, “anaesthetists”: "
     "“anaesthetists” is no role — did you mean anaesthetist?"),
    ("[travel]\nspeeds = { pavd = 50 }", "round.toml, line 23, travel.speeds, “pavd = 50”: “pavd 50” is no surface "
     "— did you mean paved?"),
    ("[aims]\ngive_up = { cost = 2 }", "round.toml, line 23, aims.give_up, “cost = 2”: “cost 2” is out of range — "
     "enter 0 to 1"),
    ("[search]\nseconds = nan", "round.toml, line 23, search.seconds, “nan”: is not a number — "
     "write digits, with a point for decimals, such as 12.5"),
    ("[search", "round.toml, line 22: cannot be read as TOML: Expected ']' at the end of a table declaration — text "
     "needs quotation marks, a date none, such as name = \"North\" and first_day = 2027-02-01"),
]  # fmt: skip


@pytest.mark.parametrize(("more", "words"), FINDINGS, ids=[more.replace("\n", " ") for more, _ in FINDINGS])
def test_one_finding(tmp_path: Path, more: str, words: str) -> None:
    found = [str(f) for f in findings_of(write(tmp_path / "in", toml=f"{TOML}\n{more}\n"))]
    assert found[0] == words
    assert len(found) == 1


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("Africa/Lusaka", "Africa/Luska", "is no time zone — did you mean Africa/Lusaka?"),
        ('"ZM"', '"Zambia"', "is no country code — use two letters of ISO 3166-1, such as ZM"),
        ('"ZM"', '"QQ"', "is no country code — use two letters of ISO 3166-1, such as ZM"),
        ("ZMW", "KWACHA", "is no currency code — use three letters of ISO 4217, such as ZMW"),
        ("2027-02-05", "2027-01-31", "the round ends before it starts — check both dates"),
        ("2027-02-05", "2037-01-31", "the round lasts 3,653 dates; a round has at most 732 — plan a shorter round"),
        ("2027-02-01", "2027-02-31", "cannot be read as TOML"),
        ('name = "Small round"', "", "the round's name is missing — fill in name in the section [round]"),
        ('"ZM"', '"ZM"\nsubdivision = "X"', "is no part of ZM with holidays of its own — clear subdivision"),
        ('"ZM"', '"ZM"\nwet_from = 2027-01-01',
         "the wet season has only one of its dates — enter both wet_from and wet_to, or neither"),
    ],
)  # fmt: skip
def test_the_round_section(tmp_path: Path, old: str, new: str, words: str) -> None:
    found = findings_of(write(tmp_path / "in", toml=TOML.replace(old, new)))
    assert words in str(found[0])


def test_a_bad_key_brings_no_second_finding(tmp_path: Path) -> None:
    """``days`` falls back to 1 for the other checks; 3 dates a team then contradict it, which nobody entered."""
    more = "\n[session]\ndays = 9\ndays_per_team = 3\nsimulations_per_team = 3\n"
    content = tables()
    content["cases"].append(["three", "Case three", "at the end", "", "", "", ""])
    found = findings_of(write(tmp_path / "in", content, TOML + more))
    assert [(f.column, f.words) for f in found] == [("session.days", "is out of range")]
    found = findings_of(write(tmp_path / "more", content, TOML + more.replace("9", "2")))
    assert [(f.column, f.words) for f in found] == [
        ("session.days_per_team", "a team attends 1 date up to all of the session")
    ]


def test_a_price_is_required_once_its_line_is_possible(tmp_path: Path) -> None:
    toml = TOML.replace("venue_day = 400\n", "").replace('lodging = "none"\n', "")
    assert [str(f) for f in findings_of(write(tmp_path / "in", toml=toml))] == [
        "round.toml, prices.venue_day: the price venue_day is missing: the venue RIV has no day_price — "
        'enter the amount, 0 if nothing is paid, or "none" to leave the line out of all totals'
    ]
    content = tables()
    content["places"].append(["INN", "Guest house", "lodging", "-12.6", "33.8"])
    keys = [f.column for f in findings_of(write(tmp_path / "in", content, toml))]
    assert keys == ["prices.venue_day", "prices.lodging"]
    no_nights = toml.replace("participant_night = 450\n", "")
    assert [f.column for f in findings_of(write(tmp_path / "in", content, no_nights))] == [
        "prices.participant_night", *keys]  # fmt: skip


MORE = """
cap = 30000
contingency_percent = 5

[session]
teach_from = 07:45:00
pause = ["12:30/13:00", "15:00/15:10"]

[teams]
guests = "pooled"

[cover]
keep_team = ["anaesthetist", "scrub"]
keep_team_night = "none"

[travel]
speeds = { track = 12 }
wet_factors = { earth = "none" }

[aims]
give_up = { "first teams" = 0.05, cost = 0.1 }
"""


def test_what_values_become(tmp_path: Path) -> None:
    s = read_round(write(tmp_path / "in", toml=TOML + MORE), today=TODAY).training_round.settings
    assert s.round.plan_date == TODAY
    assert (s.round.currency_digits, s.prices.fare_per_km, s.prices.cap) == (2, 180, 3_000_000)
    assert (s.prices.left_out, s.prices.lodging) == (frozenset({"lodging"}), 0)
    assert (s.teams.guests_pooled, s.teams.guests) == (True, 1)
    assert s.session.teach_from == 7 * 3600 + 45 * 60
    assert s.session.pause == ((45000, 46800), (54000, 54600))
    assert s.cover.keep_team == (Role.ANAESTHETIST, Role.SCRUB)
    assert s.cover.keep_team_night == ()
    assert (s.travel.speeds[Surface.TRACK], s.travel.speeds[Surface.PAVED]) == (12.0, 60.0)
    assert s.travel.wet_factors == {Surface.PAVED: 0.9, Surface.GRAVEL: 0.75}
    assert s.aims.give_up == {"first teams": 0.05, "cost": 0.1}


@pytest.mark.parametrize(
    ("currency", "entered", "minor"),
    # ISO 4217 exponents, from memory: JPY 0, ZMW 2, TND 3.
    [("JPY", "150", 150), ("ZMW", "150", 15_000), ("TND", "150", 150_000), ("TND", "1.005", 1005)],
)
def test_money_is_kept_in_minor_units(tmp_path: Path, currency: str, entered: str, minor: int) -> None:
    content = tables()
    content["crews"][1][5] = "950"
    toml = TOML.replace("ZMW", currency).replace("participant_day = 150\n", f"participant_day = {entered}\n")
    folder = write(tmp_path / "in", content, toml.replace("1.80", "2"))
    assert read_round(folder, today=TODAY).training_round.settings.prices.participant_day == minor


def test_plan_date_given_is_kept(tmp_path: Path) -> None:
    toml = TOML.replace("[prices]", "plan_date = 2026-12-14\n\n[prices]")
    settings = read_round(write(tmp_path / "in", toml=toml), today=TODAY).training_round.settings
    assert settings.round.plan_date == date(2026, 12, 14)
