"""A small round from its plan on, as people run the commands: announce, slips come back, what stands, history."""

from __future__ import annotations

from pathlib import Path

import openpyxl
from command_runs import run, tree
from rounds import tiny_round

from roundplan.intake import write_round


def test_announce_replies_and_history(tmp_path: Path) -> None:
    write_round(tiny_round(), tmp_path / "tables")
    out = tmp_path / "OUT"
    assert run("plan", tmp_path / "tables", "--out", out, "--seconds", 5).code == 0
    early = run("replies", out, tmp_path / "any.txt")
    assert (early.code, early.said) == (2, "")
    assert "has been announced yet; run: roundplan announce" in early.complained

    told = run("announce", out, "--who", "Asha", "--why", "agreed")
    assert (told.code, told.complained) == (0, "")
    before = tree(out)
    assert "nothing was written" in run("announce", out).said
    assert tree(out) == before

    slips = sorted((out / "slips").glob("*.xlsx"))
    asked = 0
    for slip in slips:
        book = openpyxl.load_workbook(slip)
        sheet = book["Who goes"]
        keys = {sheet.cell(4, column).value: column for column in range(1, sheet.max_column + 1)}
        for row in range(6, sheet.max_row + 1):
            if sheet.cell(row, keys["code"]).value:
                sheet.cell(row, keys["reply"]).value = "yes"
                asked += 1
        book.save(tmp_path / slip.name)
    assert asked >= 3
    back = [tmp_path / slip.name for slip in slips]
    taken = run("replies", out, *back, "--who", "Asha")
    assert (taken.code, taken.complained) == (0, "")
    assert taken.said.startswith(f"Version 1: {asked} new replies taken.\n")
    again = run("replies", out, *reversed(back))
    assert again.said == taken.said.replace(f"{asked} new replies", "0 new replies")
    (tmp_path / "wrong.txt").write_text("ZZ9 yes\n")
    wrong = run("replies", out, tmp_path / "wrong.txt")
    assert wrong.code == 3
    assert "wrong.txt, row 1, “ZZ9 yes”" in wrong.complained

    history = run("history", out).said.splitlines()
    assert [line.partition(": ")[2].partition(",")[0] for line in history[:2]] == ["version 1", "version 1"]
    assert history[1].endswith(". Why: agreed")
    assert len([line for line in history if line.startswith("  ")]) == asked
    assert run("audit", out).code == 0

    replanned = run("plan", tmp_path / "tables", "--out", out, "--seconds", 5, "--seed", 2)
    assert "Draft, version 2, written to" in replanned.said
    assert "Version 1 stays what readers were told" in replanned.said
    assert run("history", out).said.splitlines()[: len(history)] == history


def test_the_day_and_after(tmp_path: Path) -> None:
    """Forms of every session come back, the round is closed, and the next one's tables pass check and plan."""
    write_round(tiny_round(), tmp_path / "tables")
    out = tmp_path / "OUT"
    assert run("plan", tmp_path / "tables", "--out", out, "--seconds", 5).code == 0
    assert run("announce", out, "--who", "Asha").code == 0
    forms = []
    for form in sorted((out / "sessions").glob("*.xlsx")):
        book = openpyxl.load_workbook(form)
        for sheet, key, answer in (("Held", "held", "yes"), ("Who came", "came", "yes")):
            page = book[sheet]
            column = next(c for c in range(1, page.max_column + 1) if page.cell(3, c).value == key)
            for row in range(5, page.max_row + 1):
                if page.cell(row, 3).value:
                    page.cell(row, column).value = answer
        book.save(tmp_path / form.name)
        forms.append(tmp_path / form.name)
    assert len(forms) >= 1
    closed = run("close", out, "--attendance", *forms, "--final", "--who", "Asha")
    assert (closed.code, closed.complained) == (0, "")
    sessions = [line for line in closed.said.splitlines() if ": held; " in line]
    assert len(sessions) == len(forms)
    assert run("close", out, "--attendance", *reversed(forms)).said.startswith("Version 1: 0 new entries taken.")

    mixed = run("plan", out / "next", "--out", out)
    assert (mixed.code, "holds the round that came before" in mixed.complained) == (2, True)
    coming = tmp_path / "next"
    (out / "next").rename(coming)
    assert run("check", coming).code == 0
    planned = run("plan", coming, "--out", tmp_path / "OUT2", "--seconds", 5)
    assert planned.code == 0, planned.complained
    assert planned.said.startswith("2 teams from 2 of 2 facilities.")
    gone = run("purge", out, "--who", "Asha")
    assert (gone.code, gone.complained) == (0, "")
    assert run("audit", out).said == "Every rule is kept.\n"
    assert sorted(path.name for path in out.iterdir()) == [
        "closing", "inputs", "labels.html", "plan.json", "record.sqlite", "summary.html", "supplies.xlsx"
    ]  # fmt: skip
