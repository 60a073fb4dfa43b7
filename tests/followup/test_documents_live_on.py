"""A round told again and again in one folder: what readers have stays theirs, slips of every version are read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from sqlite3 import Connection

import openpyxl
import pytest
from revised_plans import with_cover, with_seat, without_session
from told_rounds import ALL_WELL, LATER, SENT, fill, only, take
from worked_rounds.hand_plan import hand_plan

from roundplan import cli, workflow
from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan
from roundplan.followup.clock import held_at
from roundplan.followup.documents import documents_told, numbers_told
from roundplan.followup.record import opened
from roundplan.followup.versions import REVISED, Author, last_told
from roundplan.intake import Reading, read_round
from roundplan.outfolder.outputs import documents_with, write_version

MANAGERS = {"plan.json", "report.html", "round.xlsx", "map.html", "summary.html", "closing.xlsx"}
MOVED = with_cover(with_seat(hand_plan(), "GAMA-P1", person="GAMA-P2"), "GAMA", "GAMA-P2", "GAMA-P1")
"""GAMA-P2 comes for GAMA-P1, who stays; the anaesthetist GAMA-N1 comes as before."""


@pytest.fixture(autouse=True)
def unaudited(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let plans pass that a lock of the tables forbids: GAMA-P1 was promised the seat."""
    monkeypatch.setattr("roundplan.audit.audit_plan", lambda *_: ())


def reading_of(out: Path) -> Reading:
    return replace(read_round(out / "inputs"), contacts=(Contact(who="manager", phone="+000 111 222"),))


def draft(out: Path, plan: Plan) -> None:
    with held_at(LATER):
        workflow.write_handouts(plan, reading_of(out), out)


def tell(out: Path, plan: Plan) -> tuple[int, tuple[str, ...]]:
    """Write the next version that readers are told; returns its number, and which documents are new or have changed."""

    def settle(record: Connection) -> Plan:
        told = last_told(record)
        assert told is not None
        return replace(plan, version=told.number + 1, status=REVISED)

    with held_at(LATER):
        made = write_version(plan, settle, reading_of(out), out, Author("Anna", "a test"), status=REVISED)
    return made.version, documents_with(out, made.version)


def files(out: Path) -> dict[str, bytes]:
    """Return readers' documents."""
    found = {str(p.relative_to(out)): p.read_bytes() for p in out.rglob("*") if p.is_file()}
    return {n: c for n, c in found.items() if n not in MANAGERS and not n.startswith(("record.", "inputs"))}


def test_just_what_changed_is_written_anew_whatever_lay_in_the_folder(
    drafted: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        "roundplan.handouts.folder.documents", only(lambda path: path.startswith(("facilities/", "letters/", "crews/")))
    )
    with held_at(SENT):
        first = workflow.announce(drafted, who="Anna")
    told = files(drafted)
    assert set(first.documents) == told.keys()
    other_seed = replace(hand_plan(), search=replace(hand_plan().search, seed=7))
    draft(drafted, other_seed)
    assert files(drafted) != told, "a draft overwrites what was told"
    (drafted / "crews" / "C1.pdf").write_bytes(b"edited by hand")
    assert tell(drafted, other_seed) == (2, ())
    assert files(drafted) == told, "told again, everything is as readers have it, out of the record"
    number, documents = tell(drafted, MOVED)
    after = files(drafted)
    assert number == 3
    assert set(documents) == {name for name in after if after[name] != told.get(name)}
    assert {name for name in after if "GAMA" in name} == set(documents)
    assert "version 3" in after["facilities/GAMA.html"].decode()
    assert "since version 1" in after["facilities/GAMA.html"].decode()
    assert workflow.audit_folder(drafted) == ()
    with opened(drafted) as record:
        versions = {name: one.version for name, one in documents_told(record).items()}
    assert versions == {name: 3 if name in documents else 1 for name in after}


def test_cancelled_entries_stay_cancelled_through_two_revisions(drafted: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "roundplan.handouts.folder.documents", only(lambda path: path.endswith(".ics") or path.startswith("sessions/"))
    )
    with held_at(SENT):
        workflow.announce(drafted)
    before = (drafted / "facilities" / "BETA.ics").read_text()
    gone = without_session(hand_plan(), "S2")
    calendars = []
    for plan in (gone, with_seat(gone, "GAMA-N1", person="GAMA-N2")):
        tell(drafted, plan)
        calendars.append((drafted / "facilities" / "BETA.ics").read_text())
    assert calendars[0].count("STATUS:CANCELLED") == before.count("BEGIN:VEVENT") > 0
    assert calendars[1] == calendars[0]
    assert "Session S2 is cancelled." in (drafted / "sessions" / "S2-attendance.html").read_text()
    tell(drafted, hand_plan())
    assert (drafted / "facilities" / "BETA.ics").read_text().count("STATUS:CONFIRMED") == before.count("BEGIN:VEVENT")


# --- slips -----------------------------------------------------------------------------------------------------------


def codes(out: Path, facility: str = "GAMA") -> dict[str, str]:
    """Return the codes of a facility's seats by name."""
    sheet = openpyxl.load_workbook(out / "slips" / f"{facility}.xlsx")["Who goes"]
    rows = sheet.iter_rows(min_row=6, values_only=True)
    return {str(row[8]): str(row[5]) for row in rows if row[5]}


def test_seats_that_are_as_they_were_keep_their_codes_and_no_code_is_given_twice(announced: Path) -> None:
    one = codes(announced)
    tell(announced, MOVED)
    two = codes(announced)
    assert one["Name of GAMA-N1"] == two["Name of GAMA-N1"] == "C2W"
    assert two["Name of GAMA-P2"] not in one.values()
    tell(announced, hand_plan())
    assert codes(announced) == one, "what is asked again has the code that it had"
    with opened(announced) as record:
        numbers = numbers_told(record)
    assert numbers is not None
    given = [(facility, number) for (facility, _), number in numbers.rows.items()]
    assert len(given) == len(set(given))


def test_an_older_slip_is_taken_where_its_seats_are_as_they_were(announced: Path, tmp_path: Path) -> None:
    slip = fill(announced / "slips" / "GAMA.xlsx", tmp_path / "old.xlsx", ALL_WELL)
    tell(announced, MOVED)
    done = take(announced, slip)
    assert done.taken == 1
    (finding,) = done.findings
    assert finding == (
        "old.xlsx, sheet Who goes, row 6: this was asked in an earlier version, and has changed since"
        " — reply on the slip that was sent last"
    )
    assert any("Gama Clinic: 2 seats: 1 confirmed, 1 asked" in line for line in done.told)
    new = fill(announced / "slips" / "GAMA.xlsx", tmp_path / "new.xlsx", ALL_WELL)
    assert (take(announced, new).taken, take(announced, new).findings) == (1, ())


def test_an_older_slip_in_which_nothing_was_written_against_what_changed_is_clean(
    announced: Path, tmp_path: Path
) -> None:
    slip = fill(announced / "slips" / "GAMA.xlsx", tmp_path / "old.xlsx", {("Who goes", "S8"): "yes"})
    tell(announced, MOVED)
    done = take(announced, slip)
    assert (done.taken, done.findings) == (1, ())


def test_codes_typed_from_an_older_slip(announced: Path, written: Callable[[str, str], Path]) -> None:
    old = codes(announced)
    tell(announced, MOVED)
    new = codes(announced)
    text = f"{old['Name of GAMA-N1']} yes\n{new['Name of GAMA-P2']} yes\n{old['Name of GAMA-P1']} yes\n"
    done = take(announced, written("phone.txt", text))
    assert done.taken == 2
    (finding,) = done.findings
    assert "row 3" in finding
    assert "this was asked in an earlier version, and has changed since" in finding


def test_cells_of_an_older_slip_that_were_changed_are_found(announced: Path, tmp_path: Path) -> None:
    cells = {("Who goes", "S8"): "yes", ("Who goes", "I8"): "Somebody Else"}
    slip = fill(announced / "slips" / "GAMA.xlsx", tmp_path / "old.xlsx", cells)
    tell(announced, MOVED)
    done = take(announced, slip)
    assert done.taken == 0
    assert "this cell is not to be filled in and was changed" in done.findings[0]


def test_who_stays_is_still_agreed_where_only_others_of_the_shift_changed(announced: Path, tmp_path: Path) -> None:
    """GAMA-A1 stays in both versions; who confirmed the shift's cover confirmed other people."""
    cells = {("Who stays", "N6"): "no", ("Who stays", "N7"): "no", ("Cover confirmed", "H6"): "Dr Head"}
    slip = fill(announced / "slips" / "GAMA.xlsx", tmp_path / "old.xlsx", cells)
    tell(announced, MOVED)
    done = take(announced, slip)
    assert done.taken == 1
    assert [finding.partition(":")[0] for finding in done.findings] == [
        "old.xlsx, sheet Who stays, row 6",
        "old.xlsx, sheet Cover confirmed, row 6, column code, “C3Y”",
    ]


def test_codes_of_a_draft_are_never_taken(drafted: Path, written: Callable[[str, str], Path]) -> None:
    before = codes(drafted)
    with held_at(SENT):
        workflow.announce(drafted)
    assert set(codes(drafted).values()).isdisjoint(before.values())
    done = take(drafted, written("phone.txt", "\n".join(f"{code} yes" for code in before.values())))
    assert done.taken == 0
    assert all("is no code of a slip that was sent out" in finding for finding in done.findings)


def test_announcing_again_says_what_to_hand_out(announced: Path, capsys: pytest.CaptureFixture[str]) -> None:
    draft(announced, MOVED)
    assert cli.main(["announce", str(announced), "--release", "--why", "P1 is needed at home"]) == 0
    assert capsys.readouterr().out.splitlines()[:5] == [
        f"Announced as version 2; no document in {announced} is a draft any more.",
        "To be handed out again, new or changed: 3 documents. All others are as readers have them.",
        "  sessions/S1-attendance.xlsx",
        "  slips/GAMA.txt",
        "  slips/GAMA.xlsx",
    ]
