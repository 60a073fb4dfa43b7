"""The commands; what they do stands in ``workflow``."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from roundplan import workflow
from roundplan.cli import close as cli_close
from roundplan.cli import repair as cli_repair
from roundplan.cli.progress import ProgressDisplay, tier_words
from roundplan.cli.speech import Debug, Exit, Inputs, Out, Who, kept_when_stopped
from roundplan.cli.speech import complain as _complain
from roundplan.cli.speech import given as _given
from roundplan.cli.speech import list_lines as _list
from roundplan.cli.speech import say as _say
from roundplan.cli.speech import say_documents as _say_documents
from roundplan.cli.speech import waits as _waits
from roundplan.cli.whatif import whatif
from roundplan.domain.counts import counted
from roundplan.domain.means import Means, SearchMode
from roundplan.domain.outcome import (
    AuditFailed,
    InputsRefused,
    ProvenImpossible,
    RepairImpossible,
    TimeRanOut,
    WrongPlace,
)
from roundplan.domain.plan import Reason
from roundplan.domain.rules import Aim

EPILOG = (
    "Exit codes: 0 done; 1 a fault of the program; 2 wrong usage; 3 findings in the inputs; 4 proven impossible; "
    "5 time ran out before any team was found; 6 the audit found a breach."
)

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Plan rounds of caesarean birth team simulation.",
    epilog=EPILOG,
)


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder to write to; made if it does not exist.")],
    forms: Annotated[bool, typer.Option("--forms", help="Also write one form for each facility to fill in.")] = False,
    debug: Debug = False,
) -> None:
    """Write empty tables with headings, drop-downs and a guide."""
    written = workflow.new_round(folder, forms=forms)
    for path in written:
        _say(f"Wrote {path}")
    if not written:
        _say(f"{folder} holds all tables already; nothing was written.")
    else:
        _say(f"Fill them in, then run: roundplan check {folder}")


@app.command()
def check(inputs: Inputs, debug: Debug = False) -> None:
    """Show findings and warnings in the inputs, nothing else."""
    checked = workflow.check_inputs(inputs)
    _list("finding", checked.findings, "they stop planning", sys.stdout, one="it stops planning")
    _list("warning", checked.warnings, "they do not stop planning", sys.stdout, one="it does not stop planning")
    if checked.findings:
        raise typer.Exit(Exit.FINDINGS)
    _say("No findings: the inputs can be planned with.")


@app.command()
def plan(
    inputs: Inputs,
    out: Annotated[Path, typer.Option("--out", metavar="OUT", help="Folder for the outputs; replaced as a whole.")],
    seconds: Annotated[
        float | None,
        typer.Option("--seconds", metavar="S", min=1, help="Time for the search; else as round.toml says."),
    ] = None,
    seed: Annotated[
        int | None, typer.Option("--seed", metavar="N", min=0, help="Seed of the search; else as round.toml says.")
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option("--workers", metavar="N", min=1, help="Processor cores to use; else as round.toml says."),
    ] = None,
    search: Annotated[
        SearchMode | None,
        typer.Option("--search", help="The round as one model, in parts, or as fits; else as round.toml says."),
    ] = None,
    processes: Annotated[
        int | None,
        typer.Option("--processes", metavar="N", min=1, help="Processes of the decomposed search; else --workers."),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option("--cluster", metavar="ADDRESS", help="Dask scheduler whose workers run the decomposed search."),
    ] = None,
    seeds: Annotated[
        int | None,
        typer.Option("--seeds", metavar="N", min=2, help="Search with N seeds, one core each, and keep the best plan."),
    ] = None,
    debug: Debug = False,
) -> None:
    """Search for a plan, audit it, write all documents."""
    if seeds is None:
        means = Means(search=search, processes=processes, cluster=cluster)
        try:
            with ProgressDisplay() as display:
                planned = workflow.plan_round(
                    inputs, out, seconds=seconds, seed=seed, workers=workers, progress=display, means=means
                )
        except KeyboardInterrupt:
            _complain("Stopped. Earlier outputs are as they were.")
            raise typer.Exit(Exit.STOPPED) from None
    else:
        means = Means(search=search, processes=processes or workers, cluster=cluster)
        with kept_when_stopped():
            planned = workflow.plan_seeds(inputs, out, seeds, seconds=seconds, seed=seed, means=means, told=_complain)
    _tell_plan(planned, out)


def _tell_plan(planned: workflow.Planned, out: Path) -> None:
    """Say what a plan reaches and where it is."""
    _list("warning", planned.warnings, "they did not stop planning", sys.stderr, one="it did not stop planning")
    if planned.later_breaches:
        _complain("The plan that the search ended with breaks rules, by a fault of the program, and was left out.")
        _complain("Written is the first plan of the search, which keeps every rule. The other one broke:")
        for line in planned.later_breaches:
            _complain(f"  {line}")
    made = planned.plan
    facilities = len({team.facility for team in made.teams})
    wanted = len(planned.training_round.facilities)
    _say(f"{counted(len(made.teams), 'team')} from {facilities} of {counted(wanted, 'facility')}.")
    in_round = planned.training_round.settings.round
    for tier in made.tiers:
        money = (in_round.currency, in_round.currency_digits) if tier.aim is Aim.COST else None
        _say(f"  {tier.aim.value}: {tier_words(tier, money)}")
    _say(f"The audit found every rule kept. Draft, version {made.version}, written to {out}")
    if planned.told is not None:
        _say(
            f"Version {planned.told} stays what readers were told; with its replies it is kept in "
            f"{out / 'record.sqlite'}. The documents in {out} are now this draft's; it holds when announced."
        )


@app.command()
def audit(
    out: Out,
    debug: Debug = False,
) -> None:
    """Check a written plan anew: one line a breach."""
    breaches = workflow.audit_folder(out)
    for line in breaches:
        _say(line)
    if breaches:
        raise typer.Exit(Exit.BREACH)
    _say("Every rule is kept.")


@app.command()
def announce(
    out: Out,
    who: Who = None,
    why: Annotated[str | None, typer.Option("--why", metavar="TEXT", help="Why, for the record.")] = None,
    release: Annotated[
        bool, typer.Option("--release", help="Let confirmed seats and cover be changed; needs --why.")
    ] = False,
    debug: Debug = False,
) -> None:
    """Make the draft what readers are told: documents anew, a version in the record."""
    if release and not (why or "").strip():
        _complain("Error: --release needs --why: say why confirmed seats or cover may change.")
        raise typer.Exit(Exit.USAGE)
    done = workflow.announce(out, who=_given(who), why=_given(why), release=release, waits=_waits)
    if not done.changed:
        _say(f"Version {done.version} has been announced already and nothing has changed; nothing was written.")
        return
    _say(f"Announced as version {done.version}; no document in {out} is a draft any more.")
    _say_documents(done.documents, done.version)
    _say(f"When slips come back, run: roundplan replies {out} FILE...")


@app.command()
def replies(
    out: Out,
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="Slips that came back: .xlsx, .csv, or typed replies.")
    ],
    who: Who = None,
    why: Annotated[str | None, typer.Option("--why", metavar="TEXT", help="Why, for the record.")] = None,
    instead: Annotated[
        bool, typer.Option("--instead", help="These replies hold instead of different ones that came before.")
    ] = False,
    debug: Debug = False,
) -> None:
    """Take returned slips in and show what stands where."""
    done = workflow.take_replies(out, files, who=_given(who), why=_given(why), instead=instead, waits=_waits)
    _say(f"Version {done.version}: {counted(done.taken, 'new reply')} taken.")
    for line in done.told:
        _say(line)
    if done.offers:
        _say("Whom to ask where somebody cannot come, the first first:")
    for line in done.offers:
        _say(f"  {line}")
    _list("finding", done.findings, "everything else was taken", sys.stderr)
    if done.findings:
        raise typer.Exit(Exit.FINDINGS)


app.command()(cli_repair.facts)
app.command(help=cli_repair.FACT_HELP)(cli_repair.fact)
app.command()(cli_repair.replan)


@app.command()
def history(out: Out, debug: Debug = False) -> None:
    """Show the versions of a plan, and who changed what, when and why."""
    for line in workflow.tell_history(out, waits=_waits):
        _say(line)


app.command()(whatif)
app.command()(cli_close.close)
app.command()(cli_close.purge)


def main(arguments: Sequence[str]) -> int:
    """Run a command; returns the exit code. No mistake of a user ends in a traceback."""
    try:
        app(args=list(arguments), prog_name="roundplan")
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else Exit.DONE
    except (InputsRefused, ProvenImpossible, TimeRanOut, AuditFailed, WrongPlace) as outcome:
        return _explain(outcome)
    except Exception as error:
        if "--debug" in arguments:
            import traceback

            traceback.print_exc()
        kind = type(error).__name__
        _complain(
            f"The program failed by a fault of its own ({kind}); earlier outputs are as they were; run the command "
            "again with --debug added and pass on what it prints."
        )
        return Exit.OUR_BUG
    return Exit.DONE


def _explain(outcome: Exception) -> int:
    """Print why there is no result; returns the exit code."""
    if isinstance(outcome, InputsRefused):
        _list("finding", outcome.findings, outcome.undone, sys.stderr)
        if outcome.remedy:
            _complain(outcome.remedy)
        _list(
            "warning",
            outcome.warnings,
            "they would not have stopped planning",
            sys.stderr,
            one="it would not have stopped planning",
        )
        return Exit.FINDINGS
    if isinstance(outcome, ProvenImpossible):
        _no_way(outcome)
        return Exit.IMPOSSIBLE
    if isinstance(outcome, TimeRanOut):
        more = "more time with --seconds" if outcome.work is None else "more work with work_limit in round.toml"
        _complain(f"Time ran out: {outcome}, and none is proven impossible. Give the search {more}.")
        return Exit.TIME_RAN_OUT
    if isinstance(outcome, AuditFailed):
        _complain("The plan that was found breaks rules, so it was not written; earlier outputs are as they were.")
        for line in outcome.breaches:
            _complain(f"  {line}")
        return Exit.BREACH
    _complain(f"Error: {outcome}.")
    return Exit.USAGE


def _no_way(outcome: ProvenImpossible) -> None:
    """Print what can be changed, then what each facility or person lacks."""
    if outcome.causes:
        _complain("No plan exists under the rules. Together these leave no way; change any one of them:")
    else:
        _complain("No plan exists under the rules: no facility can have a team.")
    for reason in outcome.causes:
        _complain(f"  {_reason(reason)}")
    if outcome.left_out:
        _complain("What each lacks as things stand:")
    for reason in outcome.left_out:
        _complain(f"  {_reason(reason)}")
    if isinstance(outcome, RepairImpossible) and outcome.ways:
        every = "None of these alone, but all of them together, given up, leave a way:"
        _complain(every if outcome.all_of_them else "Any one of these, given up, leaves a way:")
        for way in outcome.ways:
            _complain(f"  {way}")


def _reason(reason: Reason) -> str:
    rule = f" ({reason.rule.value})" if reason.rule and reason.rule.value != reason.who else ""
    return f"{reason.who}: {reason.words}{rule}"


def run() -> None:
    """Run the command line."""
    sys.exit(main(sys.argv[1:]))
