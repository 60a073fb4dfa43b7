"""The end of a round: its final report, and the tables of the next one, written at one moment with the record."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.counts import counted
from roundplan.domain.outcome import NotClosed, WrongPlace
from roundplan.outfolder.outputs import fingerprint
from roundplan.outfolder.places import CLOSING, NEXT, StrPath, place_words
from roundplan.outfolder.records import Waits, told_plan

if TYPE_CHECKING:
    from sqlite3 import Connection

    from roundplan.closing.done import Done
    from roundplan.closing.figures import Figures
    from roundplan.closing.next_round import Proposal
    from roundplan.followup.versions import Author
    from roundplan.outfolder.announced import AnnouncedPlan


class _Nothing(Exception):
    """Closed before with the same figures: the folder stays as it is."""


def done_of(announced: AnnouncedPlan, connection: Connection) -> Done:
    """Return what is known, by the record, of how a plan went that was told."""
    from roundplan.closing.done import Done
    from roundplan.followup.held.holds import held
    from roundplan.followup.held.store import holding

    training_round = announced.index.training_round
    known = held(holding(connection), training_round.settings.round.currency_digits)
    return Done(announced.index.plan, training_round, known)


def today_of(done: Done) -> date:
    """Return the date that it is now where the round is held."""
    from roundplan.followup.clock import today

    return today(done.training_round.settings.round.time_zone)


def end_round(out: StrPath, folder: Path, author: Author, waits: Waits) -> bool:
    """Write the final report and the next round's tables, at one moment or not at all.

    Returns
    -------
    bool
        False if nothing has changed since they were written.

    Raises
    ------
    NotClosed, WrongPlace
        Nothing is written.
    """
    from roundplan.followup.record import RECORD_NAMES, RecordUnreadable, carry, opened
    from roundplan.handouts.write import NotOurs, replacing

    try:
        with replacing(folder, RECORD_NAMES | {CLOSING, NEXT}, waits) as fresh:
            carry(folder, fresh)
            with opened(fresh) as connection:
                _write_end(connection, out, folder, fresh, author)
    except _Nothing:
        return False
    except (NotOurs, OSError, RecordUnreadable) as error:
        raise WrongPlace(place_words(error, folder)) from error
    return True


def _write_end(connection: Connection, out: StrPath, folder: Path, fresh: Path, author: Author) -> None:
    from roundplan.closing.counting import figures_of
    from roundplan.closing.next_round import next_round
    from roundplan.followup.held.ending import add_closing, last_closing, same_figures
    from roundplan.followup.record import writing
    from roundplan.handouts.closing.report import next_name
    from roundplan.handouts.speech import first_spoken, speaking

    announced = told_plan(connection, out)
    done = done_of(announced, connection)
    _refuse_unfinished(done)
    in_round = done.training_round.settings.round
    with speaking(first_spoken([in_round.language])):
        proposal = next_round(done, today_of(done), next_name(in_round.name))
        figures = figures_of(done, proposal)
        _write_report(done, figures, fresh)
    _write_tables(announced, proposal, connection, fresh / NEXT)
    last, tables, existing = last_closing(connection), fingerprint(fresh / NEXT), folder / NEXT
    if last is not None and existing.is_dir() and fingerprint(existing) != last.tables:
        words = "was changed since it was proposed; move it to a folder of its own, then close again"
        raise WrongPlace(f"{Path(out) / NEXT} {words}")
    if last is not None and same_figures(last, figures.as_plain()) and last.tables == tables:
        if existing.is_dir() and (folder / CLOSING).is_dir():
            raise _Nothing
        return
    with writing(connection):
        add_closing(connection, announced.version, figures.as_plain(), tables, in_round.purge_on, author)


def _refuse_unfinished(done: Done) -> None:
    from roundplan.closing.done import Standing

    day = today_of(done)
    coming = [
        f"{done.training_round.name_of(session.venue)} {session.dates[0].isoformat()}: this session is still to come"
        for key, session in done.sessions.items()
        if session.dates[-1] >= day and done.standing(key) is Standing.NOT_REPORTED
    ]
    if coming:
        remedy = "close the round when it is over, or take in a form that says why it was cancelled"
        raise NotClosed([f"{line} — {remedy}" for line in coming])


def _write_report(done: Done, figures: Figures, fresh: Path) -> None:
    from roundplan.handouts.closing import report, workbooks
    from roundplan.handouts.paper import printed_on

    with printed_on(done.training_round.settings.round.paper):
        documents = {
            "report.html": report.render(done.plan, figures).encode(),
            "report.xlsx": workbooks.render_figures(done.plan, figures),
            "follow-up.xlsx": workbooks.render_follow_up(done),
        }
        (fresh / CLOSING).mkdir()
        for name, content in documents.items():
            (fresh / CLOSING / name).write_bytes(content)


def _write_tables(announced: AnnouncedPlan, proposal: Proposal, connection: Connection, folder: Path) -> None:
    """Write the next round's tables, and read them back: what is proposed can be checked and planned."""
    from roundplan.followup.versions import input_files_of
    from roundplan.intake import FindingsError, read_round, write_round

    write_round(proposal.training_round, folder)
    base = proposal.training_round.settings.map.base
    files = input_files_of(connection, announced.version)
    if base and base in files:
        (folder / base).write_bytes(files[base])
    try:
        read_round(folder, today=proposal.training_round.settings.round.announce_on)
    except FindingsError as error:
        lines = [f"the next round's tables: {finding}" for finding in error.findings]
        raise NotClosed(
            [*lines, f"{counted(len(lines), 'finding')}: correct the staff who left, or the forms"]
        ) from error
