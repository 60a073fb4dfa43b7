"""The commands as people run them: exact words, exit codes, whole outputs. The solver is stood in for by a plan made
by hand, so that these tests are about everything else."""

from __future__ import annotations

import dataclasses
import importlib.util
import io
import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import roundplan
from roundplan import cli, workflow
from roundplan.cli.progress import ProgressDisplay, gap_words
from roundplan.domain.outcome import OutputsDamaged, ProvenImpossible, TimeRanOut
from roundplan.domain.plan import Plan, Reason, Status, Tier
from roundplan.domain.progress import Progress
from roundplan.domain.rules import Aim, Rule
from roundplan.intake import write_round

ROOT = Path(__file__).parents[1]


def module_at(path: str) -> Any:
    """Return a module of builders from a folder beside this file."""
    name = "cli_" + Path(path).stem
    spec = importlib.util.spec_from_file_location(name, Path(__file__).parent / path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


DAMAGED = OutputsDamaged.remedy

HAND = module_at("worked_rounds/hand_plan.py")
"""A round worked out by hand with a plan that keeps every rule."""

sample_plan = module_at("handouts/html_sample.py").sample_plan


@pytest.fixture
def inputs(tmp_path: Path) -> Path:
    folder = tmp_path / "tables"
    write_round(HAND.hand_round(), folder)
    return folder


Solver = Callable[..., Plan]


@pytest.fixture
def solver(monkeypatch: pytest.MonkeyPatch) -> Callable[[Solver], None]:
    """Return a function that puts another search in the solver's place."""

    def stand_in(search: Solver) -> None:
        monkeypatch.setattr("roundplan.solver.find_plan", search)

    stand_in(lambda *_, **__: HAND.hand_plan())
    return stand_in


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    code = cli.main([str(argument) for argument in arguments])
    said = capsys.readouterr()
    return int(code), said.out, said.err


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_plan_writes_every_document_and_audit_agrees(
    inputs: Path, tmp_path: Path, solver: object, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "OUT"
    code, said, complained = run(capsys, "plan", inputs, "--out", out)
    assert (code, said.splitlines()[0]) == (0, "3 teams from 3 of 4 facilities."), complained
    assert said.splitlines()[-1] == f"The audit found every rule kept. Draft, version 1, written to {out}"
    written = files(out)
    for name in ("plan.json", "report.html", "round.xlsx", "map.html", "supplies.xlsx", "inputs/round.toml"):
        assert name in written
    for code_of in ("ALFA", "BETA", "GAMA", "DELT"):
        assert f"facilities/{code_of}.html" in written
    assert {name.split("/")[0] for name in written} == {
        "plan.json", "inputs", "report.html", "round.xlsx", "map.html", "districts", "facilities", "trainers",
        "crews", "supplies.xlsx", "slips", "letters", "sessions", "summary.html", "labels.html", "record.sqlite",
        "closing.xlsx",
    }  # fmt: skip
    plan = json.loads(written["plan.json"])
    assert re.fullmatch("[0-9a-f]{64}", plan["fingerprint"])
    assert run(capsys, "audit", out) == (0, "Every rule is kept.\n", "")
    run(capsys, "plan", inputs, "--out", out)
    assert files(out) == written


def test_audit_names_each_breach_and_notices_changed_inputs(
    inputs: Path, tmp_path: Path, solver: object, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "OUT"
    run(capsys, "plan", inputs, "--out", out)
    plan = json.loads((out / "plan.json").read_text())
    seats = plan["teams"][0]["seats"]
    seats[0]["person"], seats[2]["person"] = seats[2]["person"], seats[0]["person"]
    (out / "plan.json").write_text(json.dumps(plan))
    code, said, _ = run(capsys, "audit", out)
    assert code == 6
    assert any(line.startswith("seat-authorised: ") for line in said.splitlines())
    with (out / "inputs" / "round.toml").open("a") as file:
        file.write("\n# changed\n")
    code, said, _ = run(capsys, "audit", out)
    assert code == 6
    assert said.splitlines()[0] == "figures: the inputs folder is not what plan.json was made from"
    (out / "plan.json").write_text('{"format": 7}')
    assert run(capsys, "audit", out) == (
        3,
        "",
        f"1 finding; nothing was audited:\n  plan.json: $.format: is 7; this program reads format 1\n{DAMAGED}\n",
    )


def test_a_plan_that_breaks_a_rule_is_not_written(
    inputs: Path, tmp_path: Path, solver: Callable[[Solver], None], capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "OUT"
    run(capsys, "plan", inputs, "--out", out)
    before = files(out)
    plan = HAND.hand_plan()
    bad = dataclasses.replace(plan, teams=(dataclasses.replace(plan.teams[0], seats=()), *plan.teams[1:]))
    solver(lambda *_, **__: bad)
    code, said, complained = run(capsys, "plan", inputs, "--out", out)
    assert (code, said) == (6, "")
    first = "The plan that was found breaks rules, so it was not written; earlier outputs are as they were."
    assert complained.splitlines()[1] == first  # after the line of progress
    assert any(line.startswith("  team-minimum: ") for line in complained.splitlines())
    assert files(out) == before


def test_no_plan_exists(
    inputs: Path, tmp_path: Path, solver: Callable[[Solver], None], capsys: pytest.CaptureFixture[str]
) -> None:
    def search(*_: object, **__: object) -> Plan:
        raise ProvenImpossible([Reason(who="ALFA", rule=Rule.LOCKS, words="is kept and forbidden")])

    solver(search)
    assert run(capsys, "plan", inputs, "--out", tmp_path / "OUT") == (
        4,
        "",
        "No plan exists under the rules. Together these leave no way; change any one of them:\n"
        "  ALFA: is kept and forbidden (locks)\n",
    )


def test_what_a_facility_lacks_is_not_offered_as_a_change(
    inputs: Path, tmp_path: Path, solver: Callable[[Solver], None], capsys: pytest.CaptureFixture[str]
) -> None:
    lacks = Reason(who="BETA", rule=Rule.COVER_KEPT, words="its only anaesthetist must stay", team_number=1)

    def search(*_: object, **__: object) -> Plan:
        raise ProvenImpossible([Reason(who="cap", rule=Rule.BUDGET_CAP, words="is too low"), lacks])

    solver(search)
    _, _, complained = run(capsys, "plan", inputs, "--out", tmp_path / "OUT")
    assert complained == (
        "No plan exists under the rules. Together these leave no way; change any one of them:\n"
        "  cap: is too low (budget-cap)\n"
        "What each lacks as things stand:\n"
        "  BETA: its only anaesthetist must stay (cover-kept)\n"
    )


def test_costs_are_shown_in_the_currency_while_the_search_runs() -> None:
    stream = io.StringIO()
    with ProgressDisplay(stream) as display:
        display(Progress(1.0, "cost", 1_234_500, 1_200_000, money=("MWK", 2)))
        display(Progress(2.0, "burden", 1_234_500))
    assert "value MWK 12,345.00, bound 12,000.00, 2.8 %" in stream.getvalue()
    assert "value 1,234,500, bound –" in stream.getvalue()


def test_time_ran_out(
    inputs: Path, tmp_path: Path, solver: Callable[[Solver], None], capsys: pytest.CaptureFixture[str]
) -> None:
    def search(*_: object, seconds: float, **__: object) -> Plan:
        raise TimeRanOut(seconds)

    solver(search)
    assert run(capsys, "plan", inputs, "--out", tmp_path / "OUT", "--seconds", "2") == (
        5,
        "",
        "Time ran out: no team was found in 2 seconds, and none is proven impossible. Give the search more time with "
        "--seconds.\n",
    )
    assert not (tmp_path / "OUT").exists()


def test_work_ran_out(
    inputs: Path, tmp_path: Path, solver: Callable[[Solver], None], capsys: pytest.CaptureFixture[str]
) -> None:
    """A search that is to be reproducible is given work, not seconds."""

    def search(*_: object, seconds: float, **__: object) -> Plan:
        raise TimeRanOut(seconds)

    solver(search)
    training_round = HAND.hand_round()
    search_by_work = dataclasses.replace(training_round.settings.search, reproducible=True, work_limit=1.5)
    changed = dataclasses.replace(training_round.settings, search=search_by_work)
    write_round(training_round.replace(settings=changed), inputs)
    assert run(capsys, "plan", inputs, "--out", tmp_path / "OUT") == (
        5,
        "",
        "Time ran out: no team was found within a work limit of 1.5, and none is proven impossible. Give the search "
        "more work with work_limit in round.toml.\n",
    )


@pytest.mark.parametrize(("status", "expected"), [(Status.OPTIMAL, 4), (Status.FEASIBLE, 5), (Status.NO_BOUND, 5)])
def test_a_plan_without_a_team_is_none(
    status: Status,
    expected: int,
    inputs: Path,
    tmp_path: Path,
    solver: Callable[[Solver], None],
    capsys: pytest.CaptureFixture[str],
) -> None:
    tier = Tier(aim=Aim.FIRST_TEAMS, value=0, bound=0 if status is Status.OPTIMAL else 9, status=status)
    reason = Reason(who="ALFA", rule=Rule.COVER_KEPT, words="releases nobody")
    solver(lambda *_, **__: Plan(round_name="Hand", tiers=(tier,), reasons=(reason,)))
    code, said, complained = run(capsys, "plan", inputs, "--out", tmp_path / "OUT")
    assert (code, said) == (expected, "")
    assert ("ALFA: releases nobody (cover-kept)" in complained) == (expected == 4)
    assert not (tmp_path / "OUT").exists()


def test_a_fault_of_the_program_is_one_sentence_and_details_on_request(
    inputs: Path, tmp_path: Path, solver: Callable[[Solver], None], capsys: pytest.CaptureFixture[str]
) -> None:
    def search(*_: object, **__: object) -> Plan:
        raise KeyError("secret detail")

    solver(search)
    words = (
        "The program failed by a fault of its own (KeyError); earlier outputs are as they were; run the command again "
        "with --debug added and pass on what it prints.\n"
    )
    assert run(capsys, "plan", inputs, "--out", tmp_path / "OUT") == (1, "", words)
    code, _, complained = run(capsys, "plan", inputs, "--out", tmp_path / "OUT", "--debug")
    assert code == 1
    assert complained.startswith("Traceback")
    assert complained.endswith(words)


def test_an_interruption_is_no_fault(
    inputs: Path, tmp_path: Path, solver: Callable[[Solver], None], capsys: pytest.CaptureFixture[str]
) -> None:
    def search(*_: object, **__: object) -> Plan:
        raise KeyboardInterrupt

    solver(search)
    assert run(capsys, "plan", inputs, "--out", tmp_path / "OUT") == (
        130,
        "",
        "Stopped. Earlier outputs are as they were.\n",
    )


def test_check_lists_findings(inputs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, said, _ = run(capsys, "check", inputs)
    assert (code, said.splitlines()[-1]) == (0, "No findings: the inputs can be planned with.")
    staff = inputs / "staff.csv"
    staff.write_text(staff.read_text().replace(",ALFA,", ",ALPHA,", 1))
    code, said, complained = run(capsys, "check", inputs)
    assert (code, complained) == (3, "")
    assert said.splitlines()[0] == "1 finding; it stops planning:"
    assert "staff.csv, row 2, column facility" in said.splitlines()[1]
    assert "ALFA" in said.splitlines()[1]
    code, said, complained = run(capsys, "plan", inputs, "--out", tmp_path / "OUT")
    assert (code, said) == (3, "")
    assert complained.splitlines()[0] == "1 finding; nothing was planned:"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["check", "nowhere"], "Error: there is no file or folder nowhere.\n"),
        (
            ["audit", "."],
            "Error: . holds no plan.json with its inputs folder; name a folder that a plan was written to.\n",
        ),
        (
            ["plan", "tables", "--out", "tables"],
            "Error: tables holds the inputs; name another folder for the outputs.\n",
        ),
        (
            ["plan", "tables", "--out", "."],
            "Error: . is the folder you work in, or one above it; name a folder of its own for the outputs.\n",
        ),
        (
            ["plan", "tables", "--out", "tables/round.toml"],
            "Error: tables/round.toml is a file; name a folder",
        ),
        (["plan", "tables"], "Missing option '--out'"),
        (["plan", "tables", "--out", "OUT", "--seconds", "soon"], "Invalid value for '--seconds'"),
        (["paln"], "No such command 'paln'"),
    ],
)
def test_wrong_usage(
    arguments: list[str],
    words: str,
    inputs: Path,
    solver: object,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(inputs.parent)
    code, said, complained = run(capsys, *arguments)
    assert (code, said) == (2, "")
    assert words in complained
    assert "Traceback" not in complained


def test_new_then_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "fresh"
    code, said, _ = run(capsys, "new", folder)
    assert code == 0
    assert said.splitlines()[-1] == f"Fill them in, then run: roundplan check {folder}"
    code, said, _ = run(capsys, "new", folder)
    assert (code, said) == (0, f"{folder} holds all tables already; nothing was written.\n")
    code, said, _ = run(capsys, "check", folder)
    assert code == 3
    assert "Traceback" not in said


@pytest.mark.parametrize("command", ["new", "check", "plan", "audit"])
def test_help_is_plain_and_the_readme_agrees(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    _, overview, _ = run(capsys, "--help")
    code, said, _ = run(capsys, command, "--help")
    assert code == 0
    assert said.isascii()
    assert f"  {command} " in overview
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert f"roundplan {command}" in readme
    lines = [line for line in readme.splitlines() if f"roundplan {command} " in line]
    options = set(re.findall(r"--[a-z]+", said)) - {"--help"}
    named = {option for line in lines for option in re.findall(r"--[a-z]+", line)}
    assert named <= options
    if command == "plan":
        assert {"--out", "--seconds", "--seed", "--workers"} <= named
    for code_number in "0123456":
        assert f"{code_number} " in " ".join(overview.split())


def test_help_loads_nothing_heavy() -> None:
    heavy = "('ortools', 'pandas', 'folium', 'openpyxl', 'numpy', 'pydantic')"
    program = f"""
import sys
from roundplan import cli
cli.main(["--help"])
print([name for name in {heavy} if name in sys.modules])
"""
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_the_package_offers_its_use_cases() -> None:
    assert roundplan.read_round is workflow.read_round
    assert {"audit_plan", "make_plan", "read_round", "write_handouts"} <= set(dir(roundplan))
    with pytest.raises(AttributeError, match="nothing_such"):
        roundplan.nothing_such  # noqa: B018


def test_progress_off_a_terminal_is_plain_lines_at_most_twice_a_second(monkeypatch: pytest.MonkeyPatch) -> None:
    now = 0.0
    monkeypatch.setattr("roundplan.cli.progress.time.monotonic", lambda: now)
    stream = io.StringIO()
    with ProgressDisplay(stream) as display:
        for step in range(41):
            now = step / 10
            display(Progress(now, "first teams", step, 100))
        display(Progress(4.1, "realism", 4, None, "started"))
    lines = stream.getvalue().splitlines()
    assert lines[0] == "   0.0 s  first teams  value 0, bound 100, 10000.0 %"
    assert lines[-1] == "   4.1 s  realism  value 4, bound –, no bound  started"
    assert len(lines) == 1 + 8 + 1


def test_progress_on_a_terminal_is_a_table_in_the_order_of_the_tiers() -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    stream = Terminal()
    with ProgressDisplay(stream) as display:
        display(Progress(1.0, "cost", 1_234_567, 1_234_567))
        display(Progress(2.0, "[red]realism", 4, None, "a [bold]name"))
        display(Progress(3.0, "first teams", None, 9))
    last = stream.getvalue().split("tier")[-1]
    assert last.index("first teams") < last.index("cost")
    for words in ("1,234,567", "proven best", "nothing found yet", "[red]realism", "a [bold]name"):
        assert words in last


@pytest.mark.parametrize(
    ("value", "bound", "words"),
    [(None, 3, "nothing found yet"), (3, None, "no bound"), (3, 3, "proven best"), (8, 9, "12.5 %"), (0, 2, "200.0 %")],
)
def test_gaps_in_words(value: int | None, bound: int | None, words: str) -> None:
    assert gap_words(value, bound) == words


def test_every_tier_of_a_plan_is_printed_with_its_bound(
    inputs: Path, tmp_path: Path, solver: Callable[[Solver], None], capsys: pytest.CaptureFixture[str]
) -> None:
    tiers = sample_plan().tiers
    planned = workflow.Planned(dataclasses.replace(sample_plan()), HAND.hand_round(), ())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(workflow, "plan_round", lambda *_, **__: planned)
        _, said, _ = run(capsys, "plan", inputs, "--out", tmp_path / "OUT")
    lines = said.splitlines()[1:-1]
    assert len(lines) == len(tiers)
    assert lines[0] == "  first teams: 9 points, bound 12, gap 33.3 %"
    assert lines[1] == "  must people: 3 people, bound 3, proven best"
    assert lines[-1] == "  cost: XTS 294,577.50, no bound"


def test_one_of_a_thing_is_said_as_one(
    inputs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    tiers = tuple(dataclasses.replace(tier, value=1, bound=None) for tier in sample_plan().tiers)
    one = dataclasses.replace(sample_plan(), teams=sample_plan().teams[:1], tiers=tiers)
    full = HAND.hand_round()
    planned = workflow.Planned(
        one, SimpleNamespace(facilities=full.facilities[:1], settings=full.settings), ("only one",)
    )
    monkeypatch.setattr(workflow, "plan_round", lambda *_, **__: planned)
    _, said, warned = run(capsys, "plan", inputs, "--out", tmp_path / "OUT")
    assert said.splitlines()[:3] == [
        "1 team from 1 of 1 facility.",
        "  first teams: 1 point, no bound",
        "  must people: 1 person, no bound",
    ]
    assert warned.splitlines()[0] == "1 warning; it did not stop planning:"
