"""Warnings: none on a sound round but what is always said, each one when its cause is there."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from intake_small_inputs import TODAY, TOML, Tables, spoilt, tables, write

from roundplan.domain.date_text import compact_dates, day_text
from roundplan.intake import Finding, FindingsError, read_round
from roundplan.intake.matching import match


def warnings_of(folder: Path, content: Tables | None = None, toml: str = TOML) -> list[Finding]:
    """Read and return the warnings."""
    return list(read_round(write(folder, content, toml), today=TODAY).warnings)


def words_of(found: list[Finding], code: str) -> list[str]:
    """Return the words of the warnings of one code."""
    return [warning.words for warning in found if warning.code == code]


def test_the_small_round_has_only_notice_and_rosters(tmp_path: Path) -> None:
    """4 January + 28 days = 1 February, + 14 days = 18 January: all five dates are left."""
    found = warnings_of(tmp_path / "in")
    assert {w.code for w in found} == {"dates-after-notice", "no-roster"}
    assert words_of(found, "dates-after-notice") == [
        "told on 4 January 2027; days of notice: 28; dates left for sessions away from home: 5 of 5 "
        "(1–5 February 2027)",
        "told on 4 January 2027; days of notice: 14; dates left for sessions at home: 5 of 5 (1–5 February 2027)",
    ]
    assert words_of(found, "no-roster") == [
        "RIV has no roster on any session date: all its staff are taken to be there",
        "LAK has no roster on any session date: all its staff are taken to be there",
    ]


def test_a_roster_that_names_too_few(tmp_path: Path) -> None:
    """Where a shift has roster rows only those rostered count: one night duty makes that night short."""
    content = tables()
    content["duties"].append(["RIV-a1", "2027-02-03", "night"])
    found = warnings_of(tmp_path / "in", content)
    assert words_of(found, "no-cover") == [
        "RIV has no full keep-team by night on 3 February 2027, even with everybody at home: "
        "nobody is left as surgical provider or surgical assistant, so it releases nobody then"
    ]
    assert words_of(found, "no-roster")[0] == (
        "RIV has no roster by day on any session date and by night on 1–2, 4–5 February 2027: "
        "all its staff are taken to be there"
    )


def test_dates_left_after_notice(tmp_path: Path) -> None:
    """7 January + 28 days = 4 February, a Thursday: two dates are left."""
    found = warnings_of(tmp_path / "in", toml=TOML.replace("[prices]", "announce_on = 2027-01-07\n\n[prices]"))
    assert words_of(found, "dates-after-notice")[0].endswith("2 of 5 (4–5 February 2027)")


def test_no_cover_whatever_the_plan_does(tmp_path: Path) -> None:
    """With both anaesthetists of LAK away, and one of RIV's two, only LAK is short; by night too."""
    content = tables()
    content["absences"] += [
        ["LAK-a1", "2027-02-01", "2027-02-02", "leave"],
        ["LAK-a2", "2027-02-02", "2027-02-04", "leave"],
        ["RIV-a2", "2027-02-03", "2027-02-04", "leave"],
    ]
    found = warnings_of(tmp_path / "in", content)
    assert [(w.row, w.column, w.words) for w in found if w.code == "no-cover"] == [
        (3, column, f"LAK has no full keep-team by {shift} on 2 February 2027, even with everybody at home: "
         "nobody is left as anaesthetist, so it releases nobody then")
        for column, shift in (("keep_team", "day"), ("keep_team_night", "night"))
    ]  # fmt: skip


def test_cover_is_a_matching_not_a_head_count(tmp_path: Path) -> None:
    """One person who can be provider or assistant does not fill both places, though each role has a head."""
    content = tables()
    content["staff"] = [
        content["staff"][0],
        ["LAK-1", "One", "LAK", "surgical provider; surgical assistant", "", ""],
        ["LAK-2", "Two", "LAK", "anaesthetist", "", ""],
        *[row for row in content["staff"][1:] if row[2] == "RIV"],
    ]
    found = warnings_of(tmp_path / "in", content)
    assert "LAK has no full keep-team by day on every date of the round" in words_of(found, "no-cover")[0]


def test_a_single_anaesthetist_can_never_be_released(tmp_path: Path) -> None:
    content = tables()
    content["staff"] = [row for row in content["staff"] if row[0] != "LAK-a2"]
    found = warnings_of(tmp_path / "in", content)
    assert words_of(found, "never-releases") == [
        "LAK can never release a team of its own: as anaesthetist it has 1, and a team and its cover need 2"
    ]


def test_a_run_of_shifts_needs_two_who_cover(tmp_path: Path) -> None:
    """At 3 h LAK's people lodge before and after: 5 shifts in a row.

    In 3 shifts in a row with a limit of 2 the keep-team needs ⌈3 ÷ 2⌉ = 2 people a role, and one goes: 3. LAK has 2.
    With a limit of 5 one person covers all, and nothing is said.
    """
    content = tables()
    content["roads"][2][3] = "3"
    found = warnings_of(tmp_path / "in", content)
    assert words_of(found, "never-releases") == [
        "LAK can never release a team of its own: its nearest venue, RIV, is 3 h away, so that an outing touches "
        "5 shifts in a row, and nobody covers more than 2 in a row: as surgical provider it has 2, where one who goes "
        "and 2 who cover are needed"
    ]
    found = warnings_of(tmp_path / "more", content, TOML + "\n[cover]\nrun = 5\n")
    assert words_of(found, "never-releases") == []
    content["roads"][2][3] = "6"
    found = warnings_of(tmp_path / "far", content)
    assert words_of(found, "never-releases") == [
        "LAK can never release a team of its own: its nearest venue, RIV, is 6 h away, past the limit of 5 h one way"
    ]


def test_interruptible_cover_counts_people_twice(tmp_path: Path) -> None:
    """RIV with one person a role trains at home only where those seated count as cover, within five minutes."""
    content = tables()
    content["facilities"][0] += ["on_site_cover", "minutes_to_theatre"]
    for row, more in zip(content["facilities"][1:], (["interruptible", "4"], ["", ""], ["", ""]), strict=True):
        row.extend(more)
    content["staff"] = [row for row in content["staff"] if not row[0].startswith("RIV") or row[0].endswith("1")]
    del content["absences"][1:], content["duties"][1:]
    assert words_of(warnings_of(tmp_path / "in", content), "never-releases") == []
    content["facilities"][1][-1] = "9"
    assert len(words_of(warnings_of(tmp_path / "far", content), "never-releases")) == 1


CREW = [
    ("seats", "2", "crew NORTH seats 2, and one station needs 3: drivers and trainers"),
    ("box_models", "0", "crew NORTH has no box model, so it runs no station"),
    # 300 kg × 0.8 − 3 people × 90 kg = −30 kg
    ("payload_kg", "300", "crew NORTH can carry 0 kg of kit beside 3 people with luggage, and the kit of one station "
     "weighs 6 kg"),
    # 343 kg × 0.8 − 270 kg = 4.4 kg, and a box model weighs 5.5 kg
    ("payload_kg", "343", "crew NORTH can carry 4 kg of kit beside 3 people with luggage, and the kit of one station "
     "weighs 6 kg"),
    ("space_l", "30", "crew NORTH has 30 litres of space, and the kit of one station takes 45"),
]  # fmt: skip


@pytest.mark.parametrize(("column", "cell", "words"), CREW, ids=[f"{c}={v}" for c, v, _ in CREW])
def test_a_crew_that_runs_no_station(tmp_path: Path, column: str, cell: str, words: str) -> None:
    content = spoilt("crews", 2, column, cell)
    content["supplies"][0] += ["unit_weight_kg", "unit_volume_l"]
    content["supplies"][1] += ["5.5", "45"]
    content["supplies"][2] += ["", ""]
    assert words_of(warnings_of(tmp_path / "in", content), "crew-useless") == [words]


ROWS = [
    (("trainers", 3, "leads", "surgery"), "no-lead", "no trainer leads anaesthesia, so that sessions that need this "
     "lead cannot be staffed"),
    (("facilities", 3, "languages", "ny"), "no-speaker", "no trainer speaks ny, the working language of LAK"),
    (("facilities", 2, "session_room", "only theatre"), "only-theatre", "RIV would host in its only theatre, which "
     "must stay free: it hosts nothing"),
    (("facilities", 2, "session_room", "only theatre"), "no-venue", "no facility and no place can host a station"),
    (("facilities", 2, "session_room", ""), "room-unknown", "RIV would host, and its session_room is not given"),
    (("facilities", 2, "exposure_contact", ""), "no-contact", "RIV has no contact for needle-sticks, which the run "
     "sheet needs"),
    (("facilities", 2, "stations", "0"), "no-venue", "no facility and no place can host a station"),
    (("supplies", 3, "expiry", "2027-02-04"), "expires", "skin expires on 4 February 2027, before the round ends"),
    (("facilities", 4, "staff_counts", "scrub 2"), "names-wanted", "HIL has people without a name (2): the plan "
     "stays a draft"),
    (("facilities", 4, "teams_wanted", "1"), "no-staff", "HIL wants teams and has no staff"),
    (("trainers", 2, "trainer", "RIV-sp2"), "code-shared", "RIV-sp2 is a trainer's code too: absences of that code "
     "count for both"),
]  # fmt: skip


@pytest.mark.parametrize(("cell", "code", "words"), ROWS, ids=[code for _, code, _ in ROWS])
def test_one_warning(tmp_path: Path, cell: tuple[str, int, str, str], code: str, words: str) -> None:
    assert words_of(warnings_of(tmp_path / "in", spoilt(*cell)), code) == [words]


def test_cases_without_approval(tmp_path: Path) -> None:
    content = tables()
    content["cases"][1][5:] = ["", ""]
    found = [w for w in warnings_of(tmp_path / "in", content) if w.code == "not-approved"]
    assert [str(w) for w in found] == [
        "cases.csv, row 2, column approved_by: case one is not approved for use here — "
        "ask the clinical lead, then enter approved_by and approved_on"
    ]


def test_no_country_and_no_time_zone(tmp_path: Path) -> None:
    toml = TOML.replace('country = "ZM"\n', "").replace('time_zone = "Africa/Lusaka"\n', "")
    assert {"no-country", "no-time-zone"} <= {w.code for w in warnings_of(tmp_path / "in", toml=toml)}


def test_estimated_holidays(tmp_path: Path) -> None:
    """Around Eid al-Fitr of 2027, about 10 March (memory), in a country that keeps it by the moon."""
    toml = TOML.replace('"ZM"', '"SN"').replace("2027-02-01", "2027-03-01").replace("2027-02-05", "2027-03-19")
    found = words_of(warnings_of(tmp_path / "in", toml=toml), "estimated-holiday")
    assert found
    assert all(words.endswith("is an estimate") and "March 2027" in words for words in found)


def test_no_date_can_hold_a_session(tmp_path: Path) -> None:
    found = warnings_of(tmp_path / "in", toml=TOML.replace("2027-02-01", "2027-02-06").replace("02-05", "02-07"))
    assert [w.code for w in found if w.code.startswith("no-date")] == ["no-dates"]


def test_warnings_come_with_findings_too(tmp_path: Path) -> None:
    content = spoilt("staff", 2, "facility", "RVI")
    content["places"][1][3:5] = ["-16.9", "33.80"]
    with pytest.raises(FindingsError) as raised:
        read_round(write(tmp_path / "in", content), today=TODAY)
    assert [f.code for f in raised.value.findings] == ["unknown-code"]
    assert [w.code for w in raised.value.warnings] == ["far-outside"]


@pytest.mark.parametrize(
    ("candidates", "filled"),
    [
        ([], []),
        ([["a"], ["a"]], ["a", None]),
        ([["a", "b"], ["a"]], ["b", "a"]),
        ([["a", "b"], ["b", "c"], ["a"], ["c"]], ["b", "c", "a", None]),
    ],
)
def test_match(candidates: list[list[str]], filled: list[str | None]) -> None:
    assert match(candidates) == filled


def test_dates_in_few_words() -> None:
    days = [date(2027, 2, 9), date(2027, 2, 1), date(2027, 2, 2), date(2027, 2, 3), date(2027, 3, 2), date(2028, 1, 1)]
    assert compact_dates(days) == "1–3, 9 February 2027; 2 March 2027; 1 January 2028"
    assert day_text(date(2027, 2, 9)) == "9 February 2027"
