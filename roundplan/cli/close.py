"""The commands of the day and after; what they do stands in ``workflow``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from roundplan import workflow
from roundplan.cli.speech import Debug, Exit, Out, Who, complain, given, list_lines, say, waits
from roundplan.domain.counts import counted

Why = Annotated[str | None, typer.Option("--why", metavar="TEXT", help="Why, for the record.")]


def close(
    out: Out,
    attendance: Annotated[
        list[Path] | None,
        typer.Option("--attendance", metavar="FILE...", help="Attendance forms that came back: .xlsx or .csv."),
    ] = None,
    more: Annotated[
        list[Path] | None, typer.Argument(metavar="[FILE]...", help="More forms.", show_default=False)
    ] = None,
    final: Annotated[
        bool, typer.Option("--final", help="End the round: final report, the next round's tables.")
    ] = False,
    who: Who = None,
    why: Why = None,
    instead: Annotated[
        bool, typer.Option("--instead", help="These forms hold again where a later one replaced them.")
    ] = False,
    debug: Debug = False,
) -> None:
    """Take attendance forms in after a session; with --final, end the round."""
    files = [*(attendance or []), *(more or [])]
    if not files and not final:
        complain("Error: name the forms that came back with --attendance, or end the round with --final.")
        raise typer.Exit(Exit.USAGE)
    done = workflow.close(out, files, final=final, who=given(who), why=given(why), instead=instead, waits=waits)
    say(f"Version {done.version}: {counted(done.taken, 'new entry')} taken.")
    list_lines("correction", done.corrected, "the later entry holds, both are kept", sys.stdout)
    for line in done.told:
        say(line)
    if done.ended is not None:
        _say_ended(out, done.ended)
    list_lines("finding", done.findings, "everything else was taken", sys.stderr)
    if done.findings:
        raise typer.Exit(Exit.FINDINGS)


def _say_ended(out: Path, changed: bool) -> None:
    if not changed:
        say("The final report and the next round's tables are as they were; nothing was written.")
        return
    say(f"The final report, which names nobody: {out / 'closing' / 'report.html'}")
    say(f"What is still to be done, and by whom: {out / 'closing' / 'follow-up.xlsx'}")
    say(f"Tables for the next round: {out / 'next'}; move them to a folder of their own, look through them, then run:")
    say("  roundplan check FOLDER")


def purge(out: Out, who: Who = None, why: Why = None, debug: Debug = False) -> None:
    """Remove names, contacts and replies of a closed round from its purge date on."""
    if not workflow.purge(out, who=given(who), why=given(why), waits=waits):
        say("The personal data of this round have been removed already; nothing was changed.")
        return
    say(f"Names, contacts, replies, attendance and all documents that name people are gone from {out}.")
    say("Plan, inputs and record stay with codes in place of people; the final report stays as it was.")
    if (out / "next").is_dir():
        say(f"{out / 'next'} stays: the next round's tables, which name its staff.")
    say("Delete what lies elsewhere too: tables, slips and forms that came back, documents handed out, copies.")
