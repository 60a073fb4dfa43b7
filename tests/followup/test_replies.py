"""Replies worked out by hand: what is taken, what is a finding and where, and how everything stands afterwards."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from told_rounds import ALL_WELL, LATER, NEAR, fill, take

from roundplan import cli, workflow
from roundplan.followup.clock import held_at
from roundplan.followup.record import opened

Writer = Callable[[str, str], Path]
Filler = Callable[..., Path]


def answers(out: Path) -> list[tuple[str, ...]]:
    """Return what the record holds: about what, word, substitute, confirmed by, remark."""
    columns = "about, word, substitute, confirmed_by, remark"
    held = f"SELECT {columns} FROM answers WHERE id NOT IN (SELECT answer FROM set_aside) ORDER BY {columns}"
    with opened(out) as record:
        return [tuple(row) for row in record.execute(held)]


def of(facility: str, told: tuple[str, ...]) -> list[str]:
    """Return the lines about one facility."""
    start = next(n for n, line in enumerate(told) if line.startswith(f"  {facility}: "))
    end = next((n for n, line in enumerate(told[start + 1 :], start + 1) if not line.startswith("    ")), len(told))
    return [line.strip() for line in told[start:end]]


def test_a_slip_is_taken_and_nobody_else_is_spoken_for(announced: Path, filled: Filler) -> None:
    done = take(announced, filled(ALL_WELL))
    assert (done.taken, done.findings) == (2, ())
    assert of("Gama Clinic", done.told) == ["Gama Clinic: 2 seats: 2 confirmed; cover by day confirmed for 0 of 1 date"]
    assert of("Alfa Hospital", done.told) == [
        "Alfa Hospital: 4 seats: 4 asked, without a reply so far; "
        "cover by day confirmed for 0 of 1 date; cover by night confirmed for 0 of 2 dates"
    ]
    assert not any(line.startswith("No reply") for line in done.told)


def test_decline_replacement_and_confirmed_cover(announced: Path, filled: Filler) -> None:
    slip = filled(
        {
            ("Who goes", "S6"): "no",
            ("Who goes", "U6"): "on leave",
            ("Who goes", "S8"): "replaced by",
            ("Who goes", "T8"): "Name of GAMA-N2 [GAMA-N2], named to stay",
            ("Cover confirmed", "H6"): "Dr Head",
            ("Cover confirmed", "I6"): "1 June",
        }
    )
    done = take(announced, slip)
    assert answers(announced) == [
        ("Gama Clinic, Name of GAMA-N1, anaesthetist, 2026-06-02 at Alfa Hospital", "replaced by", "GAMA-N2", "", ""),
        ("Gama Clinic, Name of GAMA-P1, surgical provider, 2026-06-02 at Alfa Hospital", "no", "", "", "on leave"),
        ("Gama Clinic, cover of 2026-06-02 day", "yes", "", "Dr Head", ""),
    ]
    place = "yes in back.xlsx, sheet Cover confirmed, row 6; replaced by in back.xlsx, sheet Who goes, row 8"
    assert of("Gama Clinic", done.told) == [
        "Gama Clinic: 2 seats: 1 replaced, 1 declined; cover by day confirmed for 0 of 1 date",
        "declined: Name of GAMA-P1, surgical provider, 2026-06-02 at Alfa Hospital",
        "replaced: Name of GAMA-N1, anaesthetist, 2026-06-02 at Alfa Hospital; instead: Name of GAMA-N2",
        f"contradicting replies, none of them taken: cover of 2026-06-02 day: {place}",
        "declined: Name of GAMA-N2, anaesthetist, stays 2026-06-02 day",
    ], "who goes instead was named to stay: cover without them is not confirmed cover"
    assert len(done.findings) == 1
    assert "the replies contradict one another" in done.findings[0]


def test_confirmed_cover_counts_by_day_and_by_night(announced: Path, filled: Filler) -> None:
    book = openpyxl.load_workbook(announced / "slips" / "BETA.xlsx")
    shifts = [book["Cover confirmed"].cell(row, 6).value for row in range(6, 11)]
    assert sum("Night of" in str(shift) for shift in shifts) == 2
    day, night = (next(n for n, s in enumerate(shifts, 6) if w in str(s)) for w in ("by day", "Night of"))
    done = take(
        announced,
        filled({("Cover confirmed", f"H{day}"): "Dr B", ("Cover confirmed", f"H{night}"): "Sister B"}, "BETA"),
    )
    assert done.findings == ()
    assert of("Beta Hospital", done.told)[0].endswith(
        "cover by day confirmed for 1 of 3 dates; cover by night confirmed for 1 of 2 dates"
    )


@pytest.mark.parametrize("times", [1, 2])
def test_the_same_again_changes_nothing(announced: Path, filled: Filler, times: int) -> None:
    slip = filled(ALL_WELL)
    first = take(announced, slip)
    before, history = answers(announced), workflow.tell_history(announced)
    for _ in range(times):
        again = take(announced, slip, slip)
        assert (again.taken, again.told) == (0, first.told)
    assert (answers(announced), workflow.tell_history(announced)) == (before, history)


def test_typed_codes_and_csv_say_the_same_as_the_workbook(announced: Path, filled: Filler, written: Writer) -> None:
    take(announced, filled(ALL_WELL))
    before = answers(announced)
    text = written("phone.txt", "c1u  YES\nC2W: yes\n")
    table = written("table.csv", "Code;Reply\nC1U;oui\nC2W;ndiyo\n")
    assert take(announced, text, table).findings == ()
    assert answers(announced) == before


def test_a_sheet_saved_as_csv_is_read_by_its_hidden_codes(announced: Path, filled: Filler, written: Writer) -> None:
    import csv
    import io

    book = openpyxl.load_workbook(filled(ALL_WELL))
    out = io.StringIO()
    csv.writer(out).writerows([["" if c is None else c for c in row] for row in book["Who goes"].values])
    saved = out.getvalue()
    assert take(announced, written("sheet.csv", saved)).taken == 2
    swapped = saved.replace("Name of GAMA-P1,", "Name of GAMA-P2,", 1)
    (finding,) = take(announced, written("other.csv", swapped)).findings
    assert finding.startswith("other.csv, row 6, column name, “Name of GAMA-P2”: this row was sent for Name of GAMA-P1")


def test_typed_replacements_name_people_by_code(announced: Path, written: Writer) -> None:
    done = take(announced, written("phone.txt", "C2W by 6N"))
    assert done.findings == ()
    assert answers(announced)[0][1:3] == ("replaced by", "GAMA-N2")


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        (
            {("Who goes", "I6"): "Somebody Else"},
            "back.xlsx, sheet Who goes, row 6, column name, “Somebody Else”: this cell is not to be filled in and was "
            "changed; it was sent as “Name of GAMA-P1” — reply in the framed cells of a new slip",
        ),
        (
            {("Who goes", "C6"): "GAMA-P9"},
            "back.xlsx, sheet Who goes, row 6, column person code, “GAMA-P9”: nobody in this round has this code — "
            "reply on a new slip",
        ),
        (
            {("Who goes", "A6"): "ALFA"},
            "back.xlsx, sheet Who goes, row 6, column facility code, “ALFA”: this row is another facility's, and does "
            "not belong on this slip — take the reply of that facility",
        ),
        (
            {("Who goes", "D6"): "anaesthetist"},
            "back.xlsx, sheet Who goes, row 6: this row was not on the slip that was sent — reply on a new slip",
        ),
        (
            {("Who goes", "S6"): "perhaps"},
            "back.xlsx, sheet Who goes, row 6, column reply, “perhaps”: this is no reply — reply yes, no, or replaced "
            "by and who comes instead",
        ),
        (
            {("Who goes", "T6"): "Name of GAMA-P2"},
            "back.xlsx, sheet Who goes, row 6, column replaced by, “Name of GAMA-P2”: a name stands here, but the "
            "reply is yes — leave one of them out",
        ),
    ],
)
def test_a_row_that_is_not_as_sent_is_a_finding_and_the_rest_is_taken(
    announced: Path, filled: Filler, cells: dict[tuple[str, str], str], said: str
) -> None:
    done = take(announced, filled({**ALL_WELL, **cells}))
    assert done.findings == (said,)
    assert [row[:2] for row in answers(announced)] == [
        ("Gama Clinic, Name of GAMA-N1, anaesthetist, 2026-06-02 at Alfa Hospital", "yes")
    ]


def test_a_protected_cell_is_found_where_nobody_replied_too(announced: Path, filled: Filler) -> None:
    done = take(announced, filled({("Who stays", "K6"): "Somebody"}))
    assert [finding.partition(":")[0] for finding in done.findings] == [
        "back.xlsx, sheet Who stays, row 6, column name, “Somebody”"
    ]


def test_a_guest_is_replied_for_by_their_own_facility_alone(announced: Path, filled: Filler) -> None:
    done = take(announced, filled({("Who goes", "S7"): "yes"}), filled({("Who goes", "S6"): "yes"}, "DELT", "d.xlsx"))
    assert done.findings == (
        "back.xlsx, sheet Who goes, row 7: this guest is replied for by Delt Clinic — take the reply of that facility",
    )
    assert [row[0] for row in answers(announced)] == [
        "Delt Clinic, Name of DELT-A1, surgical assistant, 2026-06-02 at Alfa Hospital"
    ]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("Nobody Known", "nobody of this facility is called so; taken as no"),
        ("", "nobody is named who comes instead; taken as no"),
        ("Name of GAMA-N2", "Name of GAMA-N2 may not take this place by the tables; taken as no"),
        ("Name of ALFA-P1 [ALFA-P1]", "nobody of this facility is called so; taken as no"),
    ],
)
def test_somebody_who_may_not_come_instead_leaves_a_no(announced: Path, filled: Filler, name: str, words: str) -> None:
    done = take(announced, filled({("Who goes", "S6"): "replaced by", ("Who goes", "T6"): name}))
    assert words in done.findings[0]
    assert answers(announced)[0][1:3] == ("no", "")


def test_contradicting_replies_stand_beside_each_other_until_one_is_taken_instead(
    announced: Path, filled: Filler, written: Writer
) -> None:
    slip, typed = filled(ALL_WELL), written("phone.txt", "C1U no")
    take(announced, slip)
    done = take(announced, typed)
    seat = "Gama Clinic, Name of GAMA-P1, surgical provider, 2026-06-02 at Alfa Hospital"
    assert done.findings == (
        f"no, phone.txt, row 1; yes, back.xlsx, sheet Who goes, row 6: {seat}: the replies contradict one another; "
        "none is taken — ask which holds, and take that reply with --instead",
    )
    assert of("Gama Clinic", done.told)[0].startswith("Gama Clinic: 2 seats: 1 confirmed, 1 with contradicting replies")
    settled = take(announced, typed, instead=True, why="she phoned")
    assert settled.findings == ()
    assert of("Gama Clinic", settled.told)[0].startswith("Gama Clinic: 2 seats: 1 confirmed, 1 declined")
    again = take(announced, slip)  # the older slip comes once more: what was settled stays settled
    assert (again.taken, again.told) == (0, settled.told)
    back = take(announced, slip, instead=True)
    assert of("Gama Clinic", back.told)[0].startswith("Gama Clinic: 2 seats: 2 confirmed")
    lines = workflow.tell_history(announced)
    assert "2026-05-20 08:00 UTC, Anna: replies from phone.txt, to version 1. Why: she phoned" in lines
    assert f"    {seat}: yes (back.xlsx, sheet Who goes, row 6)" in lines


def test_silence_is_listed_from_seven_days_before_and_never_taken_as_yes(announced: Path, filled: Filler) -> None:
    done = take(announced, filled(ALL_WELL), now=NEAR)
    start = next(n for n, line in enumerate(done.told) if line.startswith("No reply, from 7 days before on"))
    silent = done.told[start + 1 :]
    assert "  Delt Clinic, Name of DELT-A1, surgical assistant, 2026-06-02 at Alfa Hospital (in 6 days)" in silent
    assert not any("Name of GAMA-P1" in line or "Name of GAMA-N1" in line for line in silent)
    assert not any("Beta Hospital, Name" in line for line in silent)  # their session is on 4 June: eight days
    assert of("Delt Clinic", done.told)[0].startswith("Delt Clinic: 1 seat: 1 without a reply, and the day is near")


def test_slips_of_drafts_other_rounds_and_other_versions_are_refused_whole(
    announced: Path, drafted_once: Path, tmp_path: Path
) -> None:
    draft = fill(drafted_once / "slips" / "GAMA.xlsx", tmp_path / "draft.xlsx", ALL_WELL)
    book = openpyxl.load_workbook(announced / "slips" / "GAMA.xlsx")
    files = [draft]
    for key, value in (("round", "Another"), ("version", 3), ("scope", "OMEGA"), ("version", "x"), ("layout", 9)):
        marks = book["roundplan"]
        row = next(r for r in range(1, 11) if marks.cell(r, 1).value == key)
        before, marks.cell(row, 2).value = marks.cell(row, 2).value, value
        book["Who goes"]["S6"] = "yes"
        book.save(tmp_path / f"{key}-{value}.xlsx")
        files.append(tmp_path / f"{key}-{value}.xlsx")
        marks.cell(row, 2).value = before
    done = take(announced, *files)
    assert [finding.partition(" — ")[0] for finding in done.findings] == [
        "draft.xlsx: is a slip of a draft, not of what was announced",
        "round-Another.xlsx, “Another”: is a slip of another round",
        "version-3.xlsx: is a slip of version 3, which was never sent out for GAMA",
        "scope-OMEGA.xlsx, “OMEGA”: is the slip of nobody in this round",
        "version-x.xlsx: this slip does not say which version it is of",
        "layout-9.xlsx: this slip has layout 9; this program reads layout 1",
    ]
    assert answers(announced) == []


def test_the_command_says_what_stands_and_ends_with_three_for_findings(
    announced: Path, filled: Filler, written: Writer, capsys: pytest.CaptureFixture[str]
) -> None:
    with held_at(LATER):
        assert cli.main(["replies", str(announced), str(filled(ALL_WELL)), "--who", "Ben"]) == 0
        said, complained = capsys.readouterr()
        assert (said.splitlines()[:3], complained) == (
            [
                "Version 1: 2 new replies taken.",
                "North:",
                "  Alfa Hospital: 4 seats: 4 asked, without a reply so far; "
                "cover by day confirmed for 0 of 1 date; cover by night confirmed for 0 of 2 dates",
            ],
            "",
        )
        assert cli.main(["replies", str(announced), str(written("x.txt", "C1V yes")), "nowhere.xlsx"]) == 3
    assert capsys.readouterr().err.splitlines() == [
        "2 findings; everything else was taken:",
        "  x.txt, row 1, “C1V yes”: “C1V” is no code of a slip that was sent out: mistyped, or of a draft — ask again",
        "  nowhere.xlsx: there is no file of this name — check the name",
    ]
    assert cli.main(["history", str(announced)]) == 0
    assert "Ben: replies from back.xlsx, to version 1. Why: slips came back" in capsys.readouterr().out


def test_any_order_and_any_batches_come_to_the_same(announced_once: Path, tmp_path: Path) -> None:
    import shutil

    slips = {f: announced_once / "slips" / f"{f}.xlsx" for f in ("GAMA", "ALFA", "DELT", "BETA")}
    files = [
        fill(slips["GAMA"], tmp_path / "1.xlsx", ALL_WELL),
        fill(slips["DELT"], tmp_path / "2.xlsx", {("Who goes", "S6"): "no", ("Cover confirmed", "H6"): "Dr D"}),
        fill(slips["ALFA"], tmp_path / "3.xlsx", {("Who goes", "S6"): "yes", ("Who stays", "N6"): "no"}),
        fill(slips["BETA"], tmp_path / "4.xlsx", {("Who goes", "S7"): "yes", ("Cover confirmed", "H7"): "Dr B"}),
    ]
    for name, text in (("5.txt", "C1U no"), ("6.txt", "C2W by 6N; C3Y yes"), ("7.csv", "code,reply\nC2W,yes\n")):
        (tmp_path / name).write_text(text)
        files.append(tmp_path / name)
    ends = set()
    chance = random.Random(5)
    for number in range(3):
        out = tmp_path / f"OUT{number}"
        shutil.copytree(announced_once, out)
        order = chance.sample([*files, *files[:3]], k=len(files) + 3)
        cut = chance.randrange(1, len(order))
        take(out, *order[:cut])
        take(out, *order[cut:])
        done = take(out)
        ends.add((tuple(answers(out)), tuple(re.sub(r" in [1-7]\.[a-z]+[^;]*", "", line) for line in done.told)))
    assert len(ends) == 1
