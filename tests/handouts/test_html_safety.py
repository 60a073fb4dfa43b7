"""Safety lines reach the readers whom they concern; the ten lines are those of the rules, in words of our own."""

from __future__ import annotations

from roundplan.handouts.safety import Reader, safety_lines

KEYS = {
    1: ("patient always comes first", "go or no-go"),
    2: ("roster as it was entered",),
    3: ("nobody leave to operate",),
    4: ("only on a table", "stop word", "not the director"),
    5: ("sharps", "needle-stick"),
    6: ("marked as training material", "oxygen"),
    7: ("latex", "switchboard"),
    8: ("Road times are estimates", "ambulance"),
    9: ("debrief", "no scores"),
    10: ("licensed practice",),
}
"""What each of the ten safety lines of the rules has to say."""

CONCERNS = {
    Reader.MANAGER: {1, 2, 3, 8, 9, 10},
    Reader.DISTRICT: {2, 8, 10},
    Reader.FACILITY: {2, 3, 8, 10},
    Reader.TRAINER: {1, 3, 4, 5, 6, 7, 8, 9, 10},
    Reader.CREW: {5, 6, 8, 10},
}


def said(reader: Reader, *, hosts: bool = False) -> str:
    return " ".join(safety_lines(reader, hosts=hosts))


def test_each_reader_is_given_the_lines_that_concern_them() -> None:
    for reader, lines in CONCERNS.items():
        missing = [(line, key) for line in lines for key in KEYS[line] if key.lower() not in said(reader).lower()]
        assert missing == [], reader


def test_all_ten_lines_reach_somebody() -> None:
    assert set().union(*CONCERNS.values()) == set(KEYS)


def test_a_facility_that_hosts_is_told_of_kit_and_ward() -> None:
    assert "switchboard" not in said(Reader.FACILITY)
    assert "switchboard" in said(Reader.FACILITY, hosts=True)
    assert "marked as training material" in said(Reader.FACILITY, hosts=True)
