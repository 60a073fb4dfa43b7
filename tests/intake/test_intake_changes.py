"""New facts put into tables that were read: rows by key, columns that are given, dates that are not past."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest
from worked_rounds.hand_plan import FRI, MON, THU, TUE, WED, hand_round

from roundplan.domain.decision import Do
from roundplan.domain.presence import present, seat_obstacle
from roundplan.domain.role import Shift
from roundplan.intake import FindingsError, read_round, write_round
from roundplan.intake.changes import ChangedRow, Effect, read_changes
from roundplan.intake.finding import Finding

Read = Callable[..., object]


@pytest.fixture
def tables(tmp_path: Path) -> Path:
    write_round(hand_round(), tmp_path / "tables")
    return tmp_path / "tables"


def row(table: str, cells: Mapping[str, str], effect: Effect = Effect.ROW) -> ChangedRow:
    return ChangedRow(table, dict(cells), "facts", 2, effect)


def away(who: str, first: date, last: date, shift: str = "") -> ChangedRow:
    cells = {"who": who, "from": first.isoformat(), "to": last.isoformat(), "shift": shift}
    return row("absences", cells)


def spans(tables: Path, *changes: ChangedRow, since: date | None = None) -> list[tuple[str, date, date]]:
    read = read_round(tables, changes=[[change] for change in changes], since=since).training_round
    return [(a.who, a.first, a.last) for a in read.absences]


def test_a_row_with_a_known_key_takes_the_place_of_the_other(tables: Path) -> None:
    assert spans(tables, away("ALFA-P1", MON, TUE), away("ALFA-P1", MON, THU)) == [("ALFA-P1", MON, THU)]
    assert spans(tables, away("ALFA-P1", MON, TUE), away("ALFA-P1", TUE, THU)) == [
        ("ALFA-P1", MON, TUE),
        ("ALFA-P1", TUE, THU),
    ]


def test_facts_leave_what_is_past_as_it_was(tables: Path) -> None:
    assert spans(tables, away("ALFA-P1", MON, FRI), since=WED) == [("ALFA-P1", WED, FRI)]
    assert spans(tables, away("ALFA-P1", MON, TUE), since=WED) == []
    (tables / "absences.csv").write_text("who,from,to,kind\nALFA-P1,2026-06-01,2026-06-02,leave\n", encoding="utf-8")
    longer = spans(tables, away("ALFA-P1", MON, FRI), since=THU)
    assert longer == [("ALFA-P1", MON, TUE), ("ALFA-P1", THU, FRI)], "Wednesday is past and was free"
    shorter = spans(tables, away("ALFA-P1", MON, MON), since=THU)
    assert shorter == [("ALFA-P1", MON, TUE)]


def test_columns_that_are_not_given_stay_and_blank_ones_are_cleared(tables: Path) -> None:
    changes = [[row("trainers", {"trainer": "T1", "available_to": "2026-06-03", "languages": ""})]]
    trainer = read_round(tables, changes=changes).training_round.trainer("T1")

    assert (trainer.name, trainer.available_to, trainer.languages) == ("Trainer One", WED, ())
    assert trainer.leads == hand_round().trainer("T1").leads


def test_a_closure_is_added_to_a_road_named_from_either_end(tables: Path) -> None:
    closed = {"from": "BASE", "to": "HALL", "closed_from": "2026-06-04", "closed_to": "2026-06-04"}
    roads = read_round(tables, changes=[[row("roads", closed)]]).training_round.roads

    assert [r.closures for r in roads if {r.start, r.end} == {"BASE", "HALL"}] == [((FRI, FRI), (THU, THU))]
    assert len(roads) == len(hand_round().roads)


def test_a_setting_a_new_lock_and_one_that_goes(tables: Path) -> None:
    lock = {"do": "forbid", "kind": "person", "who": "ALFA-P1", "date": "2026-06-02"}
    cap = row("round", {"section": "prices", "key": "cap", "value": "900"})
    read = read_round(tables, changes=[[row("locks", lock), cap]]).training_round
    before = len(hand_round().locks)

    assert read.settings.prices.cap == 90_000
    assert [(k.do, k.who) for k in read.locks[before:]] == [(Do.FORBID, "ALFA-P1")]
    gone = read_round(tables, changes=[[row("locks", lock)], [row("locks", lock, Effect.DROP)]]).training_round
    assert gone.locks == hand_round().locks


def test_what_is_wrong_is_found_where_it_stands_in_the_new_table(tables: Path) -> None:
    with pytest.raises(FindingsError) as found:
        read_round(tables, changes=[[away("NOBODY", MON, TUE)]])
    assert [(f.file, f.row, f.column) for f in found.value.findings] == [("facts", 2, "who")]


def test_who_is_off_for_one_shift_is_there_in_the_other(tables: Path) -> None:
    by_night = read_round(tables, changes=[[away("BETA-P2", WED, WED, "night")]]).training_round
    by_day = read_round(tables, changes=[[away("BETA-P2", WED, WED, "day")]]).training_round

    def there(training_round: object, shift: Shift) -> bool:
        return "BETA-P2" in {p.code for p in present(training_round, "BETA", WED, shift)}  # type: ignore[arg-type]

    assert (there(by_night, Shift.DAY), there(by_night, Shift.NIGHT)) == (True, False)
    assert (there(by_day, Shift.DAY), there(by_day, Shift.NIGHT)) == (False, True)
    assert seat_obstacle(by_night, by_night.person("BETA-P2"), WED) is None
    assert seat_obstacle(by_day, by_day.person("BETA-P2"), WED) == "on leave"


def test_only_staff_can_be_off_for_one_shift(tables: Path) -> None:
    with pytest.raises(FindingsError) as found:
        read_round(tables, changes=[[away("T1", MON, TUE, "night")]])
    assert [(f.column, f.words) for f in found.value.findings] == [("shift", "only staff can be away for one shift")]


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("leave.csv", "who,from,to\n", "the name of the file begins with that of no table"),
        ("contacts.csv", "who,phone\nmanager,1\n", "phone and email are kept apart and change no plan"),
        ("absences.csv", "who,from,two\nALFA-P1,2026-06-01,x\n", "there is no column “two” in absences"),
        ("absences.csv", "who,to\nALFA-P1,2026-06-01\n", "the column from is missing: first date away, included"),
        ("absences-2.csv", "who,from,to\n,2026-06-01,2026-06-02\n", "who is blank"),
        ("absences.csv", "", "is empty"),
    ],
)
def test_files_that_are_no_table_of_facts(tmp_path: Path, name: str, text: str, words: str) -> None:
    (tmp_path / name).write_text(text, encoding="utf-8")
    findings: list[Finding] = []
    read_changes(tmp_path / name, findings)
    assert words in [f.words for f in findings]


def test_a_table_may_have_anything_after_its_name_and_only_some_columns(tmp_path: Path) -> None:
    (tmp_path / "facilities week 7.csv").write_text("facility,teams_wanted\nALFA,3\n", encoding="utf-8")
    findings: list[Finding] = []
    rows = read_changes(tmp_path, findings)
    assert findings == []
    assert [(r.table, dict(r.cells), r.row) for r in rows] == [
        ("facilities", {"facility": "ALFA", "teams_wanted": "3"}, 2)
    ]
