"""The end of a round: planned beside done, the next round's tables, each figure worked out by hand."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path

import openpyxl
import pytest
from held_rounds import AFTER, ALL_CAME, HALL_CAME, NO_ROAD, Form, close, with_cells
from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan import cli, workflow
from roundplan.closing import quantities
from roundplan.closing.done import Done
from roundplan.closing.figures import Figures
from roundplan.closing.quantities import corrected_quantities, rounded_up
from roundplan.closing.use import use_of
from roundplan.domain.held import Came, Counted, Held, Sat
from roundplan.domain.outcome import NotClosed, WrongPlace
from roundplan.domain.role import Include
from roundplan.followup.clock import held_at
from roundplan.followup.record import opened
from roundplan.intake import read_round
from roundplan.outfolder.records import told_plan
from roundplan.replanning.situation import situation

Fill = Callable[..., Path]
S1, S2 = "ALFA 2026-06-02", "HALL 2026-06-04"

KIT: Form = {"Kit": {(6, "left"): 1, (7, "used"): 12}}
HALL_KIT: Form = {"Kit": {(6, "left"): 0, (7, "used"): 5}}
"""Rows 6 and 7 are skins and threads. Loaded 3 and 15. S1 used 3 − 1 = 2 skins and 12 threads, S2 1 skin and 5."""


def done_with(*counted: Counted, **more: object) -> Done:
    everybody = tuple(
        Sat(session=key, team=team, role=seat.role, person=seat.person, came=Came.YES)
        for planned in hand_plan().teams
        for key, team in ((S1 if planned.session == "S1" else S2, f"{planned.facility} {planned.number}"),)
        for seat in planned.seats
    )
    return Done(hand_plan(), hand_round(), Held(sat=everybody, counted=counted, **more))  # type: ignore[arg-type]


def final(out: Path, *files: Path, **options: object) -> workflow.Closed:
    return close(out, *files, final=True, **options)


def rows(path: Path, sheet: str) -> list[tuple[object, ...]]:
    return list(openpyxl.load_workbook(path)[sheet].values)


def test_planned_beside_done(announced: Path, form: Fill) -> None:
    """S1 as planned but for ALFA-N1, in whose place N3 came; S2 cancelled. 10 seats: 6 and N3 trained, 3 not held."""
    left: Form = {"Who came": {(7, "came"): "no", (7, "came instead"): "ALFA-N3", (7, "why not"): "left the facility"}}
    paid: Form = {"Spending": {(5, "cost line"): "crew travel", (5, "amount"): 230.5, (5, "receipt"): "R-17"}}
    done = final(announced, form(with_cells(with_cells(ALL_CAME, left), paid)), form(NO_ROAD, "S2"))
    assert (done.findings, done.ended) == ((), True)
    book = announced / "closing" / "report.xlsx"
    assert rows(book, "In all")[1:] == [
        ("Sessions", 2, 1), ("Teams", 3, 2), ("People", 10, 7), ("Simulations", 6, 4), ("Walls", 3, 2)
    ]  # fmt: skip
    sessions = rows(book, "Sessions")
    assert sessions[1][1:] == ("held", 2, 2, 4, 4, 7, 7, 0, 1, 0, 0)
    assert sessions[2][1:] == ("cancelled: road", 1, 0, 2, 0, 3, 0, 0, 0, 0, 3)
    assert rows(book, "Roles")[1:] == [
        ("Surgical provider", 3, 2, 0, 0, 0, 1),
        ("Surgical assistant", 3, 2, 0, 0, 0, 1),
        ("Anaesthetist", 3, 2, 0, 1, 0, 1),
        ("Newborn care", 1, 1, 0, 0, 0, 0),
        ("All roles", 10, 7, 0, 1, 0, 3),
    ]
    facilities = {row[0]: row[1:] for row in rows(book, "Facilities")}
    due = (datetime(2026, 12, 2), datetime(2027, 6, 2))  # six and twelve months after 2 June
    assert facilities["Alfa Hospital"] == ("North", 1, 1, 4, 4, 0, 1, 0, 0, *due, 0, 0)
    assert facilities["Delt Clinic"] == ("South", 0, 0, 1, 1, 0, 0, 0, 0, *due, 0, 0)
    assert facilities["Beta Hospital"] == ("South", 1, 0, 3, 0, 0, 0, 0, 3, None, None, 0, 0)
    money = {row[0]: row[1:] for row in rows(book, "Costs")}
    assert money["crew travel"] == (240, None, 230.5, -9.5, 1, 0)
    assert money["All lines"][0] == 781.83
    people = {row[0]: row[1:] for row in rows(announced / "closing" / "follow-up.xlsx", "People")}
    assert people["Name of ALFA-N1"] == (
        "Alfa Hospital",
        "anaesthetist",
        "Alfa Hospital 2026-06-02",
        "absent",
        0,
        "left the facility",
    )
    assert people["Name of ALFA-N3"][3:5] == ("trained", 2)


def test_the_next_rounds_tables(announced: Path, form: Fill) -> None:
    """4 June + 6 months = Friday 4 December; the Monday after it is the 7th, 189 days after 1 June 2026."""
    left: Form = {"Who came": {(7, "came"): "no", (7, "came instead"): "ALFA-N3", (7, "why not"): "left the facility"}}
    final(announced, form(with_cells(with_cells(ALL_CAME, left), KIT)), form(NO_ROAD, "S2"))
    coming = read_round(announced / "next").training_round
    in_round = coming.settings.round
    assert (in_round.first_day, in_round.last_day) == (date(2026, 12, 7), date(2026, 12, 11))
    assert in_round.announce_on == date(2026, 11, 6)  # 1 May + 189 days
    assert in_round.name == "Hand round, next round"
    before = hand_round()
    assert {f.code: f.priority for f in coming.facilities} == {"ALFA": 3, "BETA": 3, "GAMA": 5, "DELT": 4}
    assert {p.code for p in before.people} - {p.code for p in coming.people} == {"ALFA-N1"}
    assert coming.person("GAMA-P1").include is Include.MAY
    ledger = {(row.person, row.role.value, row.result) for row in coming.ledger if row.round == "Hand round"}
    assert ledger == {
        ("ALFA-P1", "surgical provider", "trained"), ("ALFA-A1", "surgical assistant", "trained"),
        ("ALFA-N3", "anaesthetist", "trained"), ("ALFA-B1", "newborn care", "trained"),
        ("GAMA-P1", "surgical provider", "trained"), ("DELT-A1", "surgical assistant", "trained"),
        ("GAMA-N1", "anaesthetist", "trained"),
    }  # fmt: skip
    assert [row.person for row in coming.ledger if not row.round] == ["BETA-P1"]
    assert coming.duties == ()
    assert coming.locks == ()
    assert all(not road.closures for road in coming.roads)
    assert coming.trainer("T4").person == "ALFA-B3"


def test_somebody_expected_who_did_not_come_is_absent_in_the_ledger(announced: Path, form: Fill) -> None:
    partly: Form = {"Who came": {(7, "came"): "no", (9, "came"): "partly", (9, "simulation 2"): "yes"}}
    final(announced, form(with_cells(ALL_CAME, partly)), form(HALL_CAME, "S2"))
    ledger = {row.person: row.result for row in read_round(announced / "next").training_round.ledger if row.round}
    assert (ledger["ALFA-N1"], ledger["GAMA-P1"], ledger["BETA-P1"]) == ("absent", "partly", "trained")
    coming = read_round(announced / "next").training_round
    assert coming.person("GAMA-P1").include is Include.MUST  # not trained: still a must
    assert coming.last_trained("GAMA-P1") is None


def test_stock_after_the_round(announced: Path, form: Fill) -> None:
    """Skins: 1 + 2 packs of 2 − 3 loaded + 0 back = 2. Threads: 15 − 15 + 0. Boxes: 0 + 1 ordered − 1 + 1 back = 1."""
    final(announced, form(with_cells(ALL_CAME, KIT)), form(with_cells(HALL_CAME, HALL_KIT), "S2"))
    stock = {(row.item, row.place): row.quantity for row in read_round(announced / "next").training_round.stock}
    assert stock == {("SKIN", "BASE"): 2, ("BOX", "BASE"): 1}
    counted: Form = {"Stores": {(6, "counted"): 7}, "Staff who left": {(5, "has left"): "yes"}}
    office = form(counted, "office")
    sheet = openpyxl.load_workbook(office)["Stores"]
    assert [sheet.cell(6, column).value for column in (2, 3, 7)] == ['["SKIN", "BASE"]', "Skin layer", "The Base"]
    done = final(announced, office)
    assert (done.taken, done.ended) == (2, True)
    coming = read_round(announced / "next").training_round
    assert {(row.item, row.place): row.quantity for row in coming.stock} == {("SKIN", "BASE"): 7, ("BOX", "BASE"): 1}
    assert "ALFA-A1" not in {p.code for p in coming.people}


def test_quantities_by_real_use(announced: Path, form: Fill) -> None:
    """Threads: Σ used 12 + 5 = 17, Σ simulations 4 + 2 = 6; 17 ÷ 6 × (1 − 0.2) = 2.2667, more than 2: 2.3.

    Skins: 2 + 1 = 3 over 2 + 1 = 3 walls: 1, as it was.
    """
    final(announced, form(with_cells(ALL_CAME, KIT)), form(with_cells(HALL_CAME, HALL_KIT), "S2"))
    coming = read_round(announced / "next").training_round
    assert {item.code: item.quantity for item in coming.items} == {"BOX": 1, "SKIN": 1, "THREAD": 2.3}
    items = {row[0]: row[1:] for row in rows(announced / "closing" / "report.xlsx", "Consumables")}
    assert items["Thread"] == ("piece", 15, 17, 2, "simulation", 2, 2.3)
    assert items["Skin layer"] == ("piece", 3, 3, 2, "wall", 1, 1)


def test_a_quantity_is_lowered_only_after_enough_sessions(monkeypatch: pytest.MonkeyPatch) -> None:
    """4 and 2 threads for 4 and 2 simulations: 1 × 0.8 = 0.8, less than 2; two sessions are too few to believe it."""
    done = done_with(Counted(session=S1, item="THREAD", used=4), Counted(session=S2, item="THREAD", used=2))
    (row,) = corrected_quantities(done, use_of(done))
    assert (row.used, row.times, row.sessions, row.before, row.after) == (6, 6, 2, 2, 2)
    monkeypatch.setattr(quantities, "LEAST_SESSIONS", 2)
    (row,) = corrected_quantities(done, use_of(done))
    assert row.after == 0.8


@pytest.mark.parametrize(
    ("value", "rounded"),
    [("34/15", "2.3"), ("2", "2"), ("0.101", "0.11"), ("40.2", "41"), ("123.4", "130"), ("0", "0"), ("0.99", "0.99")],
)  # fmt: skip
def test_rounding_up_to_two_figures(value: str, rounded: str) -> None:
    assert rounded_up(Fraction(value)) == Fraction(rounded)


def test_use_followed_through_a_trip() -> None:
    """15 threads loaded. 5 left after S1: it used 10. S2 says 4: 1 back. Without any count: 10 and 5 as planned."""
    left = Counted(session=S1, item="THREAD", left=5)
    use = use_of(done_with(left, Counted(session=S2, item="THREAD", used=4)))
    assert (use.used[S1, "THREAD"], use.used[S2, "THREAD"], use.back["R1", "THREAD"]) == (10, 4, 1)
    use = use_of(done_with())
    assert use.used == {}
    assert use.back["R1", "THREAD"] == 0
    last = use_of(done_with(Counted(session=S2, item="THREAD", left=2)))
    assert last.used == {}, "what S1 used is not known, so what was on board before S2 is not either"
    assert last.back["R1", "THREAD"] == 2
    more = use_of(done_with(Counted(session=S1, item="THREAD", left=20)))
    assert more.used == {}, "more left than was loaded: a miscount says nothing of use"
    lost = use_of(done_with(Counted(session=S2, item="BOX", left=0)))
    assert lost.back["R1", "BOX"] == 0


def test_a_round_with_sessions_to_come_is_not_closed(announced: Path, form: Fill) -> None:
    early = datetime(2026, 6, 3, 8, tzinfo=UTC)
    with pytest.raises(NotClosed) as refused:
        close(announced, form(ALL_CAME), final=True, now=early)
    assert refused.value.findings[0].startswith("The Hall 2026-06-04: this session is still to come — ")
    assert not (announced / "closing").exists()
    assert close(announced, now=early).told[0].startswith("Alfa Hospital 2026-06-02: held;")  # the form was taken
    assert close(announced, form(NO_ROAD, "S2"), final=True, now=early).ended


def test_again_without_a_change_nothing_is_written(
    announced: Path, form: Fill, capsys: pytest.CaptureFixture[str]
) -> None:
    final(announced, form(ALL_CAME), form(HALL_CAME, "S2"))
    before = {p: p.read_bytes() for p in announced.rglob("*") if p.is_file()}
    assert final(announced).ended is False
    with held_at(AFTER):
        assert cli.main(["close", str(announced), "--final"]) == 0
    assert "are as they were; nothing was written." in capsys.readouterr().out
    assert {p: p.read_bytes() for p in announced.rglob("*") if p.is_file()} == before
    late = form(with_cells(ALL_CAME, {"Who came": {(5, "came"): "no"}}), name="late.xlsx")
    assert final(announced, late).ended
    with opened(announced) as record:
        kept = [json.loads(row["figures"]) for row in record.execute("SELECT figures FROM closings ORDER BY id")]
    trained = [sum(session["trained"] for session in figures["sessions"]) for figures in kept]
    assert trained == [10, 9]
    assert Figures.from_plain(kept[1]).as_plain() == Figures.from_plain(kept[1]).as_plain()
    assert json.loads(json.dumps(Figures.from_plain(kept[1]).as_plain())) == kept[1]


def test_tables_that_somebody_has_changed_are_not_overwritten(announced: Path, form: Fill) -> None:
    final(announced, form(ALL_CAME), form(HALL_CAME, "S2"))
    staff = announced / "next" / "staff.csv"
    staff.write_text(staff.read_text("utf-8").replace("Name of GAMA-P1", "Another"), encoding="utf-8")
    late = form(with_cells(ALL_CAME, {"Who came": {(5, "came"): "no"}}), name="late.xlsx")
    with pytest.raises(WrongPlace, match=r"next was changed since it was proposed; move it to a folder of its own"):
        final(announced, late)
    assert "Another" in staff.read_text("utf-8")
    (announced / "next").rename(announced.with_name("moved"))
    assert final(announced).ended
    assert (announced / "next" / "staff.csv").is_file()


def test_the_report_names_nobody_and_stays_in_its_language(announced: Path, form: Fill) -> None:
    note: Form = {
        "Actions and incidents": {
            (5, "what"): "Put a clock up",
            (5, "owner"): "Sister Achieng",
            (5, "due"): "2026-07-01",
        }
    }
    final(announced, form(with_cells(ALL_CAME, note)), form(HALL_CAME, "S2"))
    page = (announced / "closing" / "report.html").read_text("utf-8")
    book = openpyxl.load_workbook(announced / "closing" / "report.xlsx")
    cells = " ".join(str(cell) for sheet in book for row in sheet.values for cell in row)
    codes = [person.code for person in hand_round().people] + [
        "T1",
        "Trainer One",
        "Sister Achieng",
        "Name of",
        "clock",
    ]
    for text in (page, cells):
        assert [code for code in codes if code in text] == []
    assert "What is said in a debrief stays there; no scores of persons are kept." in page
    assert "http" not in page.replace("http-equiv", "")
    follow = announced / "closing" / "follow-up.xlsx"
    assert rows(follow, "Actions")[1][:5] == (
        "Alfa Hospital 2026-06-02", "The programme", "Put a clock up", "Sister Achieng", datetime(2026, 7, 1)
    )  # fmt: skip


def test_a_cancelled_session_is_not_kept_by_a_plan_made_anew(announced: Path, form: Fill) -> None:
    """On 8 June both sessions are past. S1 stays with its seven seats; S2 was not held: its teams are free."""
    close(announced, form(ALL_CAME), form(NO_ROAD, "S2"))
    with opened(announced) as record, held_at(AFTER):
        now = situation(record, told_plan(record, announced))
    locks = [row.cells for row in now.decided.rows if row.table == "locks"]
    kept = [lock for lock in locks if lock["do"] == "keep"]
    assert [lock["kind"] for lock in kept] == ["session"] + ["seat"] * 7
    assert {lock["who"] for lock in kept if lock["kind"] == "seat"} == {
        seat.person for team in hand_plan().teams[:2] for seat in team.seats
    }
    (forbidden,) = (lock for lock in locks if lock["do"] == "forbid")
    assert (forbidden["place"], forbidden["date"], forbidden["why"]) == ("HALL", "2026-06-04", "was not held")
