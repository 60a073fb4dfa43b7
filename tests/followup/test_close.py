"""Attendance forms taken in: what is good lands once, the latest holds, everything else is a finding with its place."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import openpyxl
import pytest
import told_rounds
from held_rounds import AFTER, ALL_CAME, HALL_CAME, NO_ROAD, Form, close, with_cells
from told_rounds import ALL_WELL, NEAR, SENT

from roundplan import cli, workflow
from roundplan.domain.outcome import WrongPlace
from roundplan.followup.clock import held_at
from roundplan.followup.record import opened

Fill = Callable[..., Path]

N1_STAYED_HOME: Form = {
    "Who came": {
        (7, "came"): "no",
        (7, "came instead"): "Name of ALFA-N3 [ALFA-N3]",
        (7, "why not"): "leave or illness",
    }
}


def of(out: Path, *words: str) -> list[dict[str, str]]:
    """Return the contents that hold of the subjects in which all words stand."""
    from roundplan.followup.held.store import holding

    with opened(out) as record:
        return [dict(kept.content) for kept in holding(record) if all(word in kept.subject for word in words)]


def test_a_day_as_planned(announced: Path, form: Fill) -> None:
    done = close(announced, form(ALL_CAME), form(HALL_CAME, "S2"))
    assert done.findings == ()
    assert done.taken == 1 + 7 + 1 + 3
    assert done.told == (
        "Alfa Hospital 2026-06-02: held; 4 of 4 simulations run, 2 of 2 teams and 7 people trained",
        "The Hall 2026-06-04: held; 2 of 2 simulations run, 1 of 1 team and 3 people trained",
    )


def test_silence_is_no_answer(announced: Path, form: Fill) -> None:
    cells = with_cells(ALL_CAME, {"Who came": {(5, "came"): None}})
    done = close(announced, form(cells))
    assert "  Name of ALFA-P1, surgical provider: not said" in done.told
    assert "  team ALFA 1: 2 of 2 run, 0 with the minimum complete" in done.told
    assert done.told[-1] == "The Hall 2026-06-04: no form came back"
    assert close(announced, now=datetime(2026, 6, 3, tzinfo=UTC)).told[-1] == "The Hall 2026-06-04: to come"


def test_a_substitute_is_trained_and_the_one_expected_absent(announced: Path, form: Fill) -> None:
    done = close(announced, form(with_cells(ALL_CAME, N1_STAYED_HOME)))
    assert done.findings == ()
    assert done.told[0].endswith("2 of 2 teams and 7 people trained")
    assert done.told[1:3] == (
        "  Name of ALFA-N1, anaesthetist: absent (leave or illness)",
        "  Name of ALFA-N3, anaesthetist: trained, came though not expected",
    )


def test_two_who_share_a_seat_make_a_team_whole_but_neither_is_trained(announced: Path, form: Fill) -> None:
    halves: Form = {
        "Who came": {(7, "came"): "partly", (7, "simulation 1"): "yes", (7, "simulation 2"): "no",
                     (7, "came instead"): "ALFA-N3"}
    }  # fmt: skip
    done = close(announced, form(with_cells(ALL_CAME, halves)))
    assert done.told[0].endswith("2 of 2 teams and 6 people trained")
    assert [line for line in done.told if "ALFA-N" in line] == [
        "  Name of ALFA-N1, anaesthetist: partly",
        "  Name of ALFA-N3, anaesthetist: partly",
    ]


def test_a_simulation_that_was_lost(announced: Path, form: Fill) -> None:
    """Slot 4, Gama's second, was not run: its people were seated in one of two."""
    lost = with_cells(ALL_CAME, {"Simulations": {(8, "run"): "no"}})
    done = close(announced, form(lost))
    assert done.told[0].endswith("3 of 4 simulations run, 1 of 2 teams and 4 people trained")
    assert done.told[1] == "  team GAMA 1: 1 of 2 run, 1 with the minimum complete"
    reserve: Form = {"Simulations": {(8, "run"): "no", (9, "run"): "yes", (9, "other team"): "Gama Clinic, team 1"}}
    done = close(announced, form(with_cells(ALL_CAME, reserve), name="again.xlsx"))
    assert done.told[0].endswith("4 of 4 simulations run, 2 of 2 teams and 7 people trained")


def test_a_session_that_was_cancelled(announced: Path, form: Fill) -> None:
    done = close(announced, form(NO_ROAD, "S2"))
    assert done.told[1] == (
        "The Hall 2026-06-04: cancelled (road); 0 of 2 simulations run, 0 of 1 team and 0 people trained"
    )
    bare = close(announced, form({"Held": {(5, "held"): "no"}}), now=AFTER)
    assert "S1.xlsx, sheet Held, row 5, column cause: nobody says why" in bare.findings[0]
    assert bare.told[0].startswith("Alfa Hospital 2026-06-02: cancelled (cause not said)")


def test_somebody_not_expected(announced: Path, form: Fill) -> None:
    """A name alone, with role and team, says that they came; the list of teams has two, so the team must be said."""
    besides: Form = {"Who came": {(12, "name"): "Name of ALFA-B2 [ALFA-B2]", (12, "role"): "newborn care"}}
    assert "the team is missing" in close(announced, form(with_cells(ALL_CAME, besides))).findings[0]
    besides = with_cells(besides, {"Who came": {(12, "team"): "Alfa Hospital, team 1"}})
    done = close(announced, form(with_cells(ALL_CAME, besides)))
    assert "  Name of ALFA-B2, newborn care: trained, came though not expected" in done.told


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"Who came": {(5, "name"): "Somebody Else"}}, "this cell is printed and was changed; it was sent as “Name of"),
        ({"Who came": {(5, "came"): "perhaps"}}, "this is none of the answers"),
        ({"Who came": {(5, "came instead"): "ALFA-P2"}}, "somebody came instead, but the one expected is said to have"),
        ({"Who came": {(5, "why not"): "road"}}, "it is said why somebody did not come, and that they came"),
        ({"Who came": {(5, "simulation 1"): "no"}}, "this says otherwise than the answer yes"),
        ({"Who came": {(5, "came"): "partly"}}, "it is not said which simulations; none is counted"),
        ({"Who came": {(7, "came"): "no", (7, "came instead"): "A Stranger"}}, "no staff list has this name"),
        ({"Who came": {(7, "came"): "no", (7, "came instead"): "ALFA-P2"}}, "is not authorised as anaesthetist"),
        ({"Who came": {(12, "name"): "x" * 300}}, "this has 300 letters where 200 are enough"),
        ({"Held": {(5, "cause"): "road"}}, "a cause stands here, but the date is said to have been held"),
        ({"Simulations": {(5, "run"): "no", (5, "wall"): 2}}, "it is said what was run here, and that nothing was"),
        ({"Simulations": {(5, "wall"): 1.5}}, "this is no whole number from 1 on"),
        ({"Kit": {(6, "used"): "a few"}}, "this is no number"),
        ({"Kit": {(6, "used"): "1,200"}}, "this can be read as thousands or as decimals"),
        ({"Kit": {(6, "used"): "-3"}}, "this is no number"),
        ({"Actions and incidents": {(5, "owner"): "Sister"}}, "it is not said what is to be done"),
        ({"Actions and incidents": {(5, "what"): "Ask Name of GAMA-P1 to lead"}}, "a member of staff is named here"),
        ({"Actions and incidents": {(5, "what"): "Clock up", (5, "due"): "31/02/2026"}}, "this is no date that exists"),
        (
            {"Actions and incidents": {(5, "what"): "Clock up", (5, "owner"): "Matron", (5, "due"): "2026-05-01"}},
            "this date is before the session",
        ),
        ({"Actions and incidents": {(5, "what"): "Clock up", (5, "due"): "2026-07-01"}}, "nobody sees to this action"),
        ({"Spending": {(5, "amount"): 10}}, "the cost line is missing"),
        ({"Spending": {(5, "cost line"): "lunches"}}, "the amount is missing"),
        ({"Spending": {(5, "cost line"): "lunches", (5, "amount"): 1.234, (5, "receipt"): "7"}}, "XTS has 2 decimals"),
        ({"Spending": {(5, "cost line"): "lunches", (5, "amount"): 10}}, "no receipt is named for this payment"),
    ],
)  # fmt: skip
def test_what_cannot_be_taken_is_a_finding_and_the_rest_is_taken(
    announced: Path, form: Fill, cells: Form, words: str
) -> None:
    done = close(announced, form(with_cells(ALL_CAME, cells)))
    assert words in " ".join(done.findings)
    ((sheet, values),) = cells.items()
    assert done.findings[0].startswith(f"S1.xlsx, sheet {sheet}, row {next(iter(values))[0]}, column ")
    assert "  Name of GAMA-N1, anaesthetist: not said" not in done.told
    assert of(announced, "people", "GAMA-N1") == [{"came": "yes"}]


def test_the_latest_holds_and_both_are_told(announced: Path, form: Fill) -> None:
    first = form(ALL_CAME, name="first.xlsx")
    second = form(with_cells(ALL_CAME, {"Who came": {(5, "came"): "no"}}), name="second.xlsx")
    assert close(announced, first).corrected == ()
    done = close(announced, second)
    assert done.taken == 1
    assert done.corrected == (
        "Alfa Hospital 2026-06-02, Name of ALFA-P1, surgical provider: came no (second.xlsx, sheet Who came, row 5); "
        "before: came yes (first.xlsx, sheet Who came, row 5)",
    )
    told = workflow.tell_history(announced)
    assert any(
        line.endswith("came yes (first.xlsx, sheet Who came, row 5); corrected later, no longer holds") for line in told
    )
    for files in ((first,), (second,), (first, second), (second, first)):
        again = close(announced, *files)
        assert (again.taken, again.corrected, again.findings) == (0, (), ())
        assert of(announced, "people", "ALFA-P1") == [{"came": "no"}]
    assert close(announced, first, instead=True).taken == 1
    assert of(announced, "people", "ALFA-P1") == [{"came": "yes"}]


def test_forms_of_one_command_that_contradict_one_another(announced: Path, form: Fill) -> None:
    one = form(ALL_CAME, name="one.xlsx")
    other = form(with_cells(ALL_CAME, {"Who came": {(5, "came"): "no"}}), name="other.xlsx")
    done = close(announced, one, other)
    (finding,) = done.findings
    assert "these forms contradict one another; none of them is taken" in finding
    assert "came yes, one.xlsx, sheet Who came, row 5; came no, other.xlsx, sheet Who came, row 5" in finding
    assert of(announced, "people", "ALFA-P1") == []
    assert of(announced, "people", "ALFA-A1") == [{"came": "yes"}]
    assert close(announced, other).findings == ()
    assert of(announced, "people", "ALFA-P1") == [{"came": "no"}]


def test_a_receipt_in_two_forms_is_told_each_time(announced: Path, form: Fill) -> None:
    paid: Form = {"Spending": {(5, "cost line"): "lunches", (5, "amount"): 10, (5, "receipt"): "R7"}}
    close(announced, form(paid))
    done = close(announced, form(paid, "S2"))
    (finding,) = done.findings
    assert "receipt R7 is named for lunches in 2 forms, and counted each time" in finding
    assert close(announced).findings == done.findings
    nothing = with_cells(paid, {"Spending": {(5, "amount"): 0}})
    assert (
        len(close(announced, form(nothing, "S2", "zero.xlsx")).findings) == 1
    )  # still named twice, the amount is gone
    assert [said["amount"] for said in of(announced, "spending")] == ["10", "0"]


def test_a_sheet_saved_as_csv(announced: Path, form: Fill, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(form(ALL_CAME))
    path = tmp_path / "who.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, delimiter=";").writerows(
            ["" if cell is None else cell for cell in row] for row in book["Who came"].values
        )
    done = close(announced, path)
    assert (done.taken, done.findings) == (7, ())


def test_answers_in_another_language(announced: Path, form: Fill) -> None:
    cells = with_cells(ALL_CAME, {"Who came": {(5, "came"): "OUI", (6, "came"): "ndiyo"}, "Held": {(5, "held"): "sim"}})
    assert close(announced, form(cells)).findings == ()


def test_what_is_no_form_of_this_round(announced: Path, form: Fill, tmp_path: Path, filled: Fill) -> None:
    slip = filled(ALL_WELL)
    assert "this is a slip of replies; take it in with: roundplan replies" in close(announced, slip).findings[0]
    (tmp_path / "text.csv").write_text("Good morning", encoding="utf-8")
    assert "is no attendance form, nor a sheet of one" in close(announced, tmp_path / "text.csv").findings[0]
    for mark, value, words in (
        ("round", "Another round", "is a form of another round"),
        ("session", "ALFA 2026-06-09", "is the form of a session that is not in the plan"),
        ("status", "draft", "is a form of a draft"),
        ("layout", 9, "this form has layout 9; this program reads layout 1"),
    ):
        book = openpyxl.load_workbook(form(ALL_CAME))
        marks = book["roundplan attendance"]
        next(row for row in marks.iter_rows() if row[0].value == mark)[1].value = value
        book.save(tmp_path / "marked.xlsx")
        done = close(announced, tmp_path / "marked.xlsx")
        assert (done.taken, len(done.findings)) == (0, 1)
        assert words in done.findings[0]


def test_rows_that_nobody_sent(announced: Path, form: Fill) -> None:
    for key, value, words in (
        ("row code", '["GAMA 1", "scrub", "GAMA-P1"]', "this row does not stand on the form that was sent"),
        ("row code", "[" * 1_900, "this row does not stand on the form that was sent"),
        ("session code", "HALL 2026-01-01", "this row names no session of the plan"),
    ):
        done = close(announced, form(with_cells(ALL_CAME, {"Who came": {(5, key): value}})))
        assert words in done.findings[0]
        assert of(announced, "people", "ALFA-P1") == []


def test_the_command(announced: Path, form: Fill, capsys: pytest.CaptureFixture[str]) -> None:
    files = [str(form(ALL_CAME)), str(form(NO_ROAD, "S2"))]
    with held_at(AFTER):
        assert (
            cli.main(["close", str(announced), "--attendance", *files, "--who", "Anna", "--why", "came by post"]) == 0
        )
        said = capsys.readouterr()
        assert said.out.startswith("Version 1: 9 new entries taken.\nAlfa Hospital 2026-06-02: held;")
        assert cli.main(["close", str(announced), "--attendance", files[0], "--attendance", files[1]]) == 0
        assert cli.main(["close", str(announced)]) == 2
        assert "name the forms that came back with --attendance" in capsys.readouterr().err
        wrong = form({"Held": {(5, "held"): "yess"}}, name="wrong.xlsx")
        assert cli.main(["close", str(announced), "--attendance", str(wrong)]) == 3
    assert "“yess”: this is none of the answers — did you mean yes?" in capsys.readouterr().err
    line = workflow.tell_history(announced)[2]
    assert line == "2026-06-08 08:00 UTC, Anna: attendance from S1.xlsx, S2.xlsx, to version 1. Why: came by post"


def test_a_form_as_it_was_sent_says_nothing(announced: Path, filled: Fill) -> None:
    done = close(announced, announced / "sessions" / "S1-attendance.xlsx")
    assert (done.taken, len(done.findings)) == (0, 1)
    assert done.findings[0].startswith("S1-attendance.xlsx: nothing is filled in here")
    told = told_rounds.take(announced, announced / "sessions" / "S1-attendance.xlsx").findings
    assert "this is an attendance form; take it in with: roundplan close" in told[0]


def test_nothing_announced_is_refused(drafted: Path) -> None:
    with pytest.raises(WrongPlace, match=r"nothing in .* has been announced yet"):
        close(drafted)
    assert SENT < NEAR < AFTER
