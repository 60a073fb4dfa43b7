"""The commands that keep a plan alive, as people type them: exact words and exit codes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from told_rounds import LATER

from roundplan import cli
from roundplan.followup.clock import held_at

Run = Callable[..., tuple[int, list[str], list[str]]]


@pytest.fixture
def run(announced: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Return what runs a command in the folder above the outputs: exit code, lines said, lines complained."""
    monkeypatch.chdir(announced.parent)

    def command(*words: str) -> tuple[int, list[str], list[str]]:
        with held_at(LATER):
            code = cli.main(words)
        said, complained = capsys.readouterr()
        return code, said.splitlines(), complained.splitlines()

    return command


def declined(run: Run) -> None:
    Path("no.txt").write_text("D1V no", encoding="utf-8")
    code, said, _ = run("replies", "OUT", "no.txt")
    assert code == 0
    assert said[-4:] == [
        "Whom to ask where somebody cannot come, the first first:",
        "  South, Delt Clinic: surgical assistant instead of Name of DELT-A1, 2026-06-02 at Alfa Hospital. Ask:",
        "    1. Name of DELT-A3: may sit in this role and has no seat so far",
        "    2. Name of DELT-A2: may sit in this role and has no seat so far; named to stay then, so somebody else has "
        "to stay",
    ]


def test_facts_are_entered_listed_and_taken_back(run: Run) -> None:
    assert run("facts", "OUT") == (0, ["No new facts are in force."], [])
    line = (
        "  1. absences: who BETA-P2 (Name of BETA-P2), from 2026-06-04, to 2026-06-05, kind away "
        "(Anna, 2026-05-20: is ill)"
    )
    todo = "They change nothing yet. To see what the plan becomes, run: roundplan replan OUT"
    told = ["New facts in force:", line, todo]
    assert run("fact", "OUT", "absent", "Name of BETA-P2", "2026-06-04", "--who", "Anna", "--why", "is ill") == (
        0,
        told,
        [],
    )
    again = run("fact", "OUT", "absent", "BETA-P2", "2026-06-04")
    assert again == (0, ["That was in force already; nothing was written.", *told], [])
    assert run("fact", "OUT", "withdraw", "1") == (0, ["No new facts are in force."], [])


def test_facts_that_are_wrong_end_with_findings_or_usage(run: Run) -> None:
    Path("absences.csv").write_text("who,from,to\nNOBODY,2026-06-04,2026-06-05\n", encoding="utf-8")
    code, said, complained = run("facts", "OUT", "absences.csv")
    assert (code, said) == (3, [])
    assert complained == [
        "1 finding; nothing was taken:",
        "  absences.csv, row 2, column who, “NOBODY”: there is no person, trainer or crew NOBODY — add NOBODY to its "
        "table or correct the code",
    ]
    code, said, complained = run("fact", "OUT", "lost", "C1")
    assert (code, said) == (2, [])
    assert complained[0].startswith("Error: no fact begins with lost")


def test_a_proposal_is_shown_accepted_once_and_told(run: Run) -> None:
    assert run("replan", "OUT")[:2] == (
        0,
        ["Nothing has to change: version 1 keeps every rule with all that has come since."],
    )
    declined(run)
    code, said, _ = run("replan", "OUT", "--seconds", "30", "--workers", "1")
    assert code == 0
    assert "Proposal 1, to change version 1. The audit found every rule kept." in said
    assert said[-3:] == [
        "Nothing has been changed yet.",
        "To accept it, run: roundplan replan OUT --accept",
        'To refuse it, run: roundplan replan OUT --refuse --why "..."',
    ]
    code, said, _ = run("replan", "OUT", "--accept", "--who", "Anna")
    assert (code, said[0]) == (0, "Proposal 1 accepted: readers are told version 2 now.")
    assert said[1].startswith("To be handed out again, new or changed: ")
    assert {"  slips/GAMA.xlsx", "  slips/DELT.xlsx"} <= {*said[2:]}
    code, said, _ = run("replan", "OUT", "--accept")
    assert said[0] == "No proposal is open; proposal 1 is version 2 already."
    assert said[-1] == "Nothing has to change: version 2 keeps every rule with all that has come since."


def test_a_proposal_is_refused_with_a_reason(run: Run) -> None:
    declined(run)
    run("replan", "OUT", "--workers", "1")
    assert run("replan", "OUT", "--refuse") == (2, [], ["Error: --refuse and --release need --why: say why."])
    assert run("replan", "OUT", "--refuse", "--accept", "--why", "x")[0] == 2
    assert run("replan", "OUT", "--refuse", "--why", "ask first") == (
        0,
        ["Proposal 1 refused; nothing has changed."],
        [],
    )
    assert run("replan", "OUT", "--refuse", "--why", "x") == (0, ["No proposal is open; nothing was written."], [])


def test_what_contradicts_is_named_with_what_could_be_given_up(run: Run) -> None:
    Path("yes.txt").write_text("B1T yes", encoding="utf-8")
    run("replies", "OUT", "yes.txt", "--who", "Anna")
    run("fact", "OUT", "absent", "BETA-P1", "2026-06-02")
    code, said, complained = run("replan", "OUT", "--workers", "1", "--seconds", "30")
    assert (code, said) == (4, [])
    assert "No plan exists under the rules. Together these leave no way; change any one of them:" in complained
    assert complained[-2:] == [
        "Any one of these, given up, leaves a way:",
        "  keep seat Name of BETA-P1 surgical provider at The Hall 2026-06-04, confirmed: yes.txt, row 1, taken in by "
        'Anna on 2026-05-20: roundplan replan OUT --release BETA-P1 --why "..."',
    ]


def test_a_lock_of_the_tables_is_given_up_by_its_number(run: Run) -> None:
    code, said, _ = run("fact", "OUT", "unlock", "1", "--who", "Anna", "--why", "the manager changed her mind")
    assert code == 0
    assert said[1].startswith("  1. locks: taken out, do ")
    assert run("fact", "OUT", "unlock", "9")[0] == 2
