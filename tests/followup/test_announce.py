"""A draft becomes what readers are told; the record holds every version and survives every rewriting of the folder."""

from __future__ import annotations

import dataclasses
import json
import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from told_rounds import ALL_WELL, LATER, SENT, fill, take
from worked_rounds.hand_plan import hand_plan

from roundplan import cli, workflow
from roundplan.domain.outcome import NotAnnounced, WrongPlace
from roundplan.domain.plan import Plan
from roundplan.followup.clock import held_at
from roundplan.followup.record import opened
from roundplan.followup.versions import contacts_of, input_files_of, last_told, last_version, plan_of
from roundplan.intake import read_round


def documents(out: Path) -> dict[str, bytes]:
    files = (path for path in out.rglob("*") if path.is_file() and not path.name.startswith("record."))
    return {str(path.relative_to(out)): path.read_bytes() for path in files}


def test_no_document_calls_itself_a_draft_any_more(drafted: Path, all_documents: None) -> None:
    pages = {name: text.decode() for name, text in documents(drafted).items() if name.endswith((".html", ".txt"))}
    before = {name for name, text in pages.items() if "do not act on it yet" in text}
    assert len(before) > 10
    with held_at(SENT):
        done = workflow.announce(drafted, who="Anna", why="agreed")
    assert (done.version, done.changed) == (1, True)
    plan = json.loads((drafted / "plan.json").read_bytes())
    assert (plan["version"], plan["status"]) == (1, "announced")
    for name in before:
        assert "do not act on it yet" not in (drafted / name).read_text("utf-8"), name
        assert "Draft" not in (drafted / name).read_text("utf-8"), name
        assert "has not been announced" not in (drafted / name).read_text("utf-8"), name
    assert "STATUS:TENTATIVE" not in "".join(p.read_text("utf-8") for p in drafted.rglob("*.ics"))
    assert workflow.audit_folder(drafted) == ()


def test_contacts_are_kept_from_the_draft_on(drafted: Path, all_documents: None) -> None:
    with held_at(SENT):
        workflow.announce(drafted)
    with opened(drafted) as record:
        told = last_told(record)
        assert told is not None
        assert [(c.who, c.phone) for c in contacts_of(record, told)] == [("manager", "+000 111 222")]
    assert any("+000 111 222" in p.read_text("utf-8") for p in drafted.rglob("*.html"))
    assert (drafted / "record.sqlite").stat().st_mode & 0o077 == 0


def test_again_without_a_change_says_so_and_does_nothing(announced: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = documents(announced) | {"record": (announced / "record.sqlite").read_bytes()}
    assert cli.main(["announce", str(announced)]) == 0
    assert capsys.readouterr().out == (
        "Version 1 has been announced already and nothing has changed; nothing was written.\n"
    )
    assert documents(announced) | {"record": (announced / "record.sqlite").read_bytes()} == before


def test_the_record_holds_plan_and_inputs_of_each_version(announced: Path) -> None:
    with opened(announced) as record:
        told = last_told(record)
        assert told is not None
        assert plan_of(record, told) == (announced / "plan.json").read_text("utf-8")
        inputs = {path.name: path.read_bytes() for path in (announced / "inputs").iterdir()}
        assert input_files_of(record, told) == inputs
        assert record.execute("SELECT count(*) FROM inputs").fetchone()[0] == 1
        rows = record.execute("SELECT number, status FROM versions ORDER BY id").fetchall()
        assert [tuple(row) for row in rows] == [(1, "draft"), (1, "announced")]


def other_plan(seed: int = 7) -> Plan:
    plan = hand_plan()
    return dataclasses.replace(plan, search=dataclasses.replace(plan.search, seed=seed))


def test_planning_anew_keeps_the_record_and_makes_a_draft_of_the_next_version(announced: Path, tmp_path: Path) -> None:
    slip = fill(announced / "slips" / "GAMA.xlsx", tmp_path / "back.xlsx", ALL_WELL)
    assert take(announced, slip).taken == 2
    reading = read_round(announced / "inputs")
    made = workflow.write_handouts(other_plan(), reading, announced)
    assert (made.version, made.status) == (2, "draft")
    with opened(announced) as record:
        newest, told = last_version(record), last_told(record)
        assert (newest.number, newest.status, told.number, told.status) == (2, "draft", 1, "announced")  # type: ignore[union-attr]
        assert record.execute("SELECT count(*) FROM answers").fetchone()[0] == 2
    assert take(announced, slip).findings == ()  # slips of what was announced are still taken
    assert workflow.announce(announced).version == 2
    plan = json.loads((announced / "plan.json").read_bytes())
    assert (plan["version"], plan["status"]) == (2, "revised")
    after = take(announced, slip)
    assert after.findings == ()  # nothing in that slip has changed
    assert any("Gama Clinic: 2 seats: 2 confirmed" in line for line in after.told)  # the same seats: still agreed


def test_what_was_confirmed_is_changed_only_when_somebody_says_why(
    announced: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    take(announced, fill(announced / "slips" / "GAMA.xlsx", tmp_path / "back.xlsx", ALL_WELL))
    plan = other_plan()
    kept = tuple(team for team in plan.teams if team.facility != "GAMA")
    left_out = dataclasses.replace(plan, teams=kept)
    monkeypatch.setattr("roundplan.audit.audit_plan", lambda *_: ())
    workflow.write_handouts(left_out, read_round(announced / "inputs"), announced)
    before = (announced / "plan.json").read_bytes()
    with pytest.raises(NotAnnounced) as refused:
        workflow.announce(announced)
    assert [finding.partition(":")[0] for finding in refused.value.findings] == [
        "Gama Clinic, Name of GAMA-N1, anaesthetist, 2026-06-02 at Alfa Hospital",
        "Gama Clinic, Name of GAMA-P1, surgical provider, 2026-06-02 at Alfa Hospital",
    ]
    assert cli.main(["announce", str(announced)]) == 3
    assert capsys.readouterr().err.startswith("2 findings; nothing was announced:\n")
    assert (announced / "plan.json").read_bytes() == before
    assert cli.main(["announce", str(announced), "--release"]) == 2
    with held_at(LATER):
        assert cli.main(["announce", str(announced), "--release", "--why", "the clinic closes"]) == 0
    last = workflow.tell_history(announced)[-1]
    assert ": version 2, revised, from inputs " in last
    assert last.endswith(". Why: the clinic closes")


def test_who_when_and_why_stand_in_the_history(announced: Path) -> None:
    lines = workflow.tell_history(announced)
    fingerprint = json.loads((announced / "plan.json").read_bytes())["fingerprint"][:12]
    assert lines[1:] == (
        f"2026-05-01 09:30 UTC, Anna: version 1, announced, from inputs {fingerprint}. Why: agreed with the districts",
    )
    assert lines[0].startswith("2026-05-01 09:30 UTC, ")
    assert lines[0].endswith(f": version 1, draft, from inputs {fingerprint}. Why: planned from the tables")


def test_a_folder_written_before_there_were_records_can_be_announced(drafted: Path) -> None:
    (drafted / "record.sqlite").unlink()
    with pytest.raises(WrongPlace, match=r"has no record yet"):
        workflow.tell_history(drafted)
    assert workflow.announce(drafted, who="Anna").version == 1
    assert len(workflow.tell_history(drafted)) == 1


def test_changed_inputs_and_no_plan_are_refused(drafted: Path, tmp_path: Path) -> None:
    with pytest.raises(WrongPlace, match=r"nothing in .* has been announced yet"):
        take(drafted, tmp_path / "none.txt")
    with pytest.raises(WrongPlace, match=r"holds no plan.json"):
        workflow.announce(tmp_path / "nowhere")
    staff = drafted / "inputs" / "staff.csv"
    staff.write_text(staff.read_text("utf-8").replace("Name of GAMA-P1", "Another"), encoding="utf-8")
    with pytest.raises(NotAnnounced, match=r"is not what plan.json was made from"):
        workflow.announce(drafted)


def test_moments_are_kept_in_utc(announced: Path) -> None:
    with opened(announced) as record:
        moments = {row[0] for row in record.execute("SELECT made_at FROM changes")}
    assert moments == {SENT.isoformat()}
    assert SENT.utcoffset() == timedelta(0)


def test_the_plan_command_says_what_holds_and_that_the_record_is_kept(
    announced: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("roundplan.solver.find_plan", lambda *_, **__: other_plan())
    assert cli.main(["plan", str(announced / "inputs"), "--out", str(tmp_path / "elsewhere")]) == 0
    assert "stays what readers were told" not in capsys.readouterr().out
    shutil.copytree(announced / "inputs", tmp_path / "tables")
    assert cli.main(["plan", str(tmp_path / "tables"), "--out", str(announced)]) == 0
    assert capsys.readouterr().out.splitlines()[-2:] == [
        f"The audit found every rule kept. Draft, version 2, written to {announced}",
        f"Version 1 stays what readers were told; with its replies it is kept in {announced / 'record.sqlite'}. "
        f"The documents in {announced} are now this draft's; it holds when announced.",
    ]


def test_people_without_a_name_keep_a_plan_a_draft(drafted: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    training_round = read_round(drafted / "inputs").training_round
    first, *others = training_round.people
    unnamed = training_round.replace(people=(dataclasses.replace(first, placeholder=True), *others))
    reading = dataclasses.replace(read_round(drafted / "inputs"), training_round=unnamed)
    monkeypatch.setattr("roundplan.intake.read_round", lambda *_: reading)
    with pytest.raises(NotAnnounced, match=r"names are still wanted for 1 person of the staff lists"):
        workflow.announce(drafted)
