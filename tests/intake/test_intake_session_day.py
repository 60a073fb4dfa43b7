"""What the settings of a session cannot mean together: pauses that overlap, a day too short, all teams given up."""

from __future__ import annotations

from pathlib import Path

import pytest
from intake_small_inputs import TODAY, TOML, write

from roundplan.intake import Finding, FindingsError, read_round


def warned(folder: Path, more: str) -> list[Finding]:
    return list(read_round(write(folder, toml=f"{TOML}\n{more}\n"), today=TODAY).warnings)


def found(folder: Path, more: str) -> list[str]:
    with pytest.raises(FindingsError) as caught:
        warned(folder, more)
    return [finding.words for finding in caught.value.findings]


def test_short_sessions_of_several_dates_are_said_to_change_nothing(tmp_path: Path) -> None:
    entered = "[session]\nshort_sessions = true\ndays = "
    said = [w for w in warned(tmp_path / "two", f"{entered}2") if w.code == "no-short-session"]
    assert [(w.column, w.words) for w in said] == [
        (
            "session.short_sessions",
            "short sessions change nothing: every session lasts 2 dates, and only sessions of one date share a crew's"
            " date",
        )
    ]
    assert not [w for w in warned(tmp_path / "one", f"{entered}1") if w.code == "no-short-session"]
    assert read_round(tmp_path / "one", today=TODAY).training_round.settings.session.shares_days
    assert not read_round(tmp_path / "two", today=TODAY).training_round.settings.session.shares_days


def test_pauses_that_overlap_are_refused_and_those_that_touch_are_not(tmp_path: Path) -> None:
    assert found(tmp_path / "over", '[session]\npause = ["12:30/14:00", "12:00/13:00"]') == [
        "a pause starts at 12:30, before the one until 13:00 is over"
    ]
    warned(tmp_path / "touch", '[session]\npause = ["13:00/14:00", "12:00/13:00"]')


@pytest.mark.parametrize(
    ("more", "words"),
    [
        # 30 + 15 minutes of opening and closing, two slots of 10 + 15 + 30 + 15 = 70: 185. 08:00 to 11:00 leaves 180.
        ('teach_to = "11:00"', ["185 minutes", "leaves 180"]),
        ('teach_to = "11:05"', []),
        # 08:00 to 16:30 is 510 minutes, 6 hours of pause leave 150.
        ('pause = ["09:00/15:00"]', ["185 minutes", "leaves 150"]),
        # One more slot for the demonstration: 255 minutes.
        ('teach_to = "12:00"\ndemonstrations = 1', ["255 minutes", "leaves 240"]),
    ],
)
def test_a_day_too_short_for_one_team(tmp_path: Path, more: str, words: list[str]) -> None:
    said = [w.words for w in warned(tmp_path / "in", f"[session]\n{more}") if w.code == "day-too-short"]
    assert len(said) == bool(words)
    assert all(word in text for text in said for word in words)


def test_giving_up_all_first_teams_is_refused(tmp_path: Path) -> None:
    assert found(tmp_path / "all", '[aims.give_up]\n"first teams" = 1') == [
        "giving up all of “first teams” leaves no team"
    ]
    warned(tmp_path / "most", '[aims.give_up]\n"first teams" = 0.9\nburden = 1')
