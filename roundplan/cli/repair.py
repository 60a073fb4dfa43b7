"""The commands that keep a plan alive: new facts, whom to ask, the least change, accept or refuse."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from roundplan import workflow
from roundplan.cli.progress import ProgressDisplay
from roundplan.cli.speech import Debug, Exit, Out, Who, complain, given, say, say_documents, waits
from roundplan.domain.counts import counted

Why = Annotated[str | None, typer.Option("--why", metavar="TEXT", help="Why, for the record.")]

FACT_HELP = """Take one new fact in, said in a few words; dates as year-month-day.

\b
absent WHO FROM [TO]              a person, trainer or crew is away
cannot-stay WHO DATE day|night    somebody is not there in one shift
lost-trainer WHO FROM [TO]        a trainer cannot come any more
lost-crew CREW FROM [TO]          a vehicle or its crew is lost
closed-road END END FROM TO       a stretch of road is closed
closed-venue PLACE FROM [TO]      no session can be held there
late FACILITY [TEAMS]             a facility wants to send teams after all
cap AMOUNT                        the round may cost no more than this
roster WHO DATE SHIFT             a duty: day, night, on call or off
swap WHO WITH DATE                two people swap what the roster says
lent WHO FACILITY FROM TO         somebody serves at another facility
unlock NUMBER                     a lock of the tables is given up
withdraw NUMBER                   a fact holds no longer
"""


def facts(
    out: Out,
    files: Annotated[
        list[Path] | None,
        typer.Argument(metavar="FILE...", help="Tables with new rows, named as the tables of the inputs."),
    ] = None,
    who: Who = None,
    why: Why = None,
    debug: Debug = False,
) -> None:
    """Take new facts in from tables; without a file, show which are in force."""
    done = workflow.take_facts(out, files or [], who=given(who), why=given(why), waits=waits)
    if files:
        say(f"{counted(done.taken, 'new fact')} taken.")
    _in_force(out, done)


def fact(
    out: Out,
    word: Annotated[str, typer.Argument(metavar="WHAT", help="What it is; see above.")],
    said: Annotated[list[str] | None, typer.Argument(metavar="...", help="Who or what, from when to when.")] = None,
    who: Who = None,
    why: Why = None,
    debug: Debug = False,
) -> None:  # its help is FACT_HELP
    """Take one new fact in."""
    done = workflow.take_fact(out, word, said or [], who=given(who), why=given(why), waits=waits)
    if not done.taken:
        say("That was in force already; nothing was written.")
    _in_force(out, done)


def _in_force(out: Path, done: workflow.FactsTaken) -> None:
    if not done.in_force:
        say("No new facts are in force.")
        return
    say("New facts in force:")
    for line in done.in_force:
        say(f"  {line}")
    say(f"They change nothing yet. To see what the plan becomes, run: roundplan replan {out}")


def replan(
    out: Out,
    accept: Annotated[bool, typer.Option("--accept", help="Take the open proposal; make one if none is open.")] = False,
    refuse: Annotated[bool, typer.Option("--refuse", help="Leave the open proposal; needs --why.")] = False,
    release: Annotated[
        list[str] | None,
        typer.Option("--release", metavar="WHO", help="Code of a person who gives a confirmed seat or stay free."),
    ] = None,
    who: Who = None,
    why: Why = None,
    seconds: Annotated[
        float | None,
        typer.Option("--seconds", metavar="S", min=1, help="Time for the search."),
    ] = None,
    seed: Annotated[int | None, typer.Option("--seed", metavar="N", min=0, help="Seed of the search.")] = None,
    workers: Annotated[
        int | None, typer.Option("--workers", metavar="N", min=1, help="Processor cores to use.")
    ] = None,
    debug: Debug = False,
) -> None:
    """Look for the least change after replies and new facts; show it, then accept or refuse it."""
    if accept and refuse:
        _usage("--accept and --refuse exclude each other.")
    if (refuse or release) and not given(why):
        _usage("--refuse and --release need --why: say why.")
    if refuse:
        _refuse(out, str(given(why)), given(who))
        return
    if accept and not release and _accept(out, given(who), given(why)):
        return
    if not _propose(out, release or [], (given(who), given(why)), seconds, seed, workers):
        return
    if accept or (sys.stdin.isatty() and typer.confirm("Accept this proposal?", err=True)):
        _accept(out, given(who), given(why))
        return
    say("Nothing has been changed yet.")
    say(f"To accept it, run: roundplan replan {out} --accept")
    say(f'To refuse it, run: roundplan replan {out} --refuse --why "..."')


def _usage(words: str) -> None:
    complain(f"Error: {words}")
    raise typer.Exit(Exit.USAGE)


def _propose(
    out: Path,
    release: list[str],
    author: tuple[str | None, str | None],
    seconds: float | None,
    seed: int | None,
    workers: int | None,
) -> bool:
    """Search and show; returns whether there is anything to accept."""
    try:
        with ProgressDisplay() as display:
            made = workflow.replan(
                out, who=author[0], why=author[1], release=release, seconds=seconds, seed=seed, workers=workers,
                progress=display, waits=waits,
            )  # fmt: skip
    except KeyboardInterrupt:
        complain("Stopped. Nothing was changed.")
        raise typer.Exit(Exit.STOPPED) from None
    for line in made.bearing:
        say(line)
    if made.proposal is None:
        say(f"Nothing has to change: version {made.version} keeps every rule with all that has come since.")
        return False
    say(f"Proposal {made.proposal}, to change version {made.version}. The audit found every rule kept.")
    for line in made.told:
        say(line)
    return True


def _accept(out: Path, who: str | None, why: str | None) -> bool:
    done = workflow.accept(out, who=who, why=why, waits=waits)
    if done is None:
        return False
    if not done.changed:
        say(f"No proposal is open; proposal {done.proposal} is version {done.version} already.")
        return False
    say(f"Proposal {done.proposal} accepted: readers are told version {done.version} now.")
    say_documents(done.documents, done.version)
    return True


def _refuse(out: Path, why: str, who: str | None) -> None:
    number = workflow.refuse(out, why=why, who=who, waits=waits)
    if number is None:
        say("No proposal is open; nothing was written.")
        return
    say(f"Proposal {number} refused; nothing has changed.")
