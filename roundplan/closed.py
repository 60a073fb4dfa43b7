"""The use cases of the day and after: take attendance in, end a round with its final report, propose the next one."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.counts import counted
from roundplan.domain.outcome import NotClosed, WrongPlace
from roundplan.outputs import fingerprint, user_name
from roundplan.places import CLOSING, NEXT, StrPath, place_words
from roundplan.records import Waits, folder_of, record_of, told_plan

if TYPE_CHECKING:
    from sqlite3 import Connection

    from roundplan.announced import AnnouncedPlan
    from roundplan.attendance.form import Form
    from roundplan.closing.done import Done
    from roundplan.closing.next_round import Proposal
    from roundplan.followup.versions import Author


@dataclass(frozen=True, slots=True)
class Closed:
    """What closing did.

    Attributes
    ----------
    taken : int
        Statements that the record did not hold before.
    corrected : tuple of str
        Those that hold instead of earlier ones, both told.
    findings : tuple of str
        One line each, with its place.
    told : tuple of str
        What became of each session so far.
    ended : bool or None
        Whether a final report was written; None if none was asked for, False if nothing had changed since the last.
    """

    version: int
    taken: int
    corrected: tuple[str, ...]
    findings: tuple[str, ...]
    told: tuple[str, ...]
    ended: bool | None = None


class _Nothing(Exception):
    """Closed before with the same figures: the folder stays as it is."""


def close(
    out: StrPath,
    files: Sequence[StrPath] = (),
    *,
    final: bool = False,
    who: str | None = None,
    why: str | None = None,
    instead: bool = False,
    waits: Waits = None,
) -> Closed:
    """Use case: take attendance forms in, all that is good in them at one moment; with ``final`` end the round.

    Parameters
    ----------
    final : bool
        Also write the final report and the next round's tables.
    who, why : str or None
        Who does it, and why; the user of the machine, and that forms came back.
    instead : bool
        Whether these forms hold again where a later one had replaced them.

    Raises
    ------
    WrongPlace
        If nothing has been announced there, or the record cannot be used; nothing is taken.
    NotClosed
        With ``final``: if sessions are still to come; the forms have been taken, nothing was written.
    """
    from roundplan.closing.telling import told
    from roundplan.followup.held.forms import read_file
    from roundplan.followup.held.store import put_in
    from roundplan.followup.held.telling import doubts
    from roundplan.followup.held.understanding import Understander
    from roundplan.followup.record import writing
    from roundplan.followup.versions import Author

    received = [read_file(Path(file)) for file in files]
    author = Author(who or user_name(), why or ("the round is over" if final else "attendance forms came back"))
    folder = folder_of(out, waits)
    with record_of(folder, waits) as connection:
        announced = told_plan(connection, out)
        assert connection is not None
        understander = Understander(announced.index.training_round, _forms(announced))
        understander.take(received)
        with writing(connection):
            taken = put_in(connection, announced.version, understander.statements, author, instead=instead)
        done = _done(announced, connection)
        lines = tuple(told(done, _today(done)))
        found = (*understander.findings, *taken.findings, *doubts(connection))
    ended = _end(out, folder, author, waits) if final else None
    return Closed(
        version=announced.version.number,
        taken=taken.fresh,
        corrected=taken.corrected,
        findings=tuple(map(str, found)),
        told=lines,
        ended=ended,
    )


def purge(out: StrPath, *, who: str | None = None, why: str | None = None, waits: Waits = None) -> bool:
    """Use case: remove personal data from a closed round whose date has come; False if it had been done before.

    Raises
    ------
    WrongPlace
        If it is too early for that, or the folder cannot be used; nothing is removed.
    """
    from roundplan.followup.held.purge import purged
    from roundplan.purged import purge_folder

    folder = folder_of(out, waits, purging=False)
    with record_of(folder, waits) as connection:
        if connection is not None and purged(connection):
            return False
    return purge_folder(out, folder, who=who, why=why, waits=waits)


def _forms(announced: AnnouncedPlan) -> Callable[[str], Sequence[Form]]:
    """Return what gives the forms of a session in all languages; the round's own comes first."""
    from roundplan.attendance.layout import ROUND
    from roundplan.domain.held import session_keys
    from roundplan.handouts.attendance.forms import office_form, session_form
    from roundplan.handouts.speech import LANGUAGES, speaking

    index = announced.index
    codes = {key: code for code, key in session_keys(index.plan).items()}

    @cache
    def made(key: str) -> tuple[Form, ...]:
        found = []
        for language in LANGUAGES if key in codes or key == ROUND else ():
            with speaking(language):
                found.append(office_form(index) if key == ROUND else session_form(index, codes[key]))
        return tuple(found)

    return made


def _done(announced: AnnouncedPlan, connection: Connection) -> Done:
    from roundplan.closing.done import Done
    from roundplan.followup.held.holds import held
    from roundplan.followup.held.store import holding

    training_round = announced.index.training_round
    known = held(holding(connection), training_round.settings.round.currency_digits)
    return Done(announced.index.plan, training_round, known)


def _today(done: Done) -> date:
    from roundplan.followup.clock import today

    return today(done.training_round.settings.round.time_zone)


def _end(out: StrPath, folder: Path, author: Author, waits: Waits) -> bool:
    """Write the final report and the next round's tables; False if nothing has changed since they were written."""
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
    from roundplan.closing.figures import figures_of
    from roundplan.closing.next_round import next_round
    from roundplan.followup.held.ending import add_closing, last_closing, same_figures
    from roundplan.followup.record import writing
    from roundplan.handouts.closing.report import next_name
    from roundplan.handouts.speech import first_spoken, speaking

    announced = told_plan(connection, out)
    done = _done(announced, connection)
    _refuse_unfinished(done)
    in_round = done.training_round.settings.round
    with speaking(first_spoken([in_round.language])):
        proposal = next_round(done, _today(done), next_name(in_round.name))
        figures = figures_of(done, proposal)
        _write_report(done, proposal, fresh)
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

    day = _today(done)
    coming = [
        f"{done.training_round.name_of(session.venue)} {session.dates[0].isoformat()}: this session is still to come"
        for key, session in done.sessions.items()
        if session.dates[-1] >= day and done.standing(key) is Standing.NOT_REPORTED
    ]
    if coming:
        remedy = "close the round when it is over, or take in a form that says why it was cancelled"
        raise NotClosed([f"{line} — {remedy}" for line in coming])


def _write_report(done: Done, proposal: Proposal, fresh: Path) -> None:
    from roundplan.closing.figures import figures_of
    from roundplan.handouts.closing import report, workbooks
    from roundplan.handouts.paper import printed_on

    figures = figures_of(done, proposal)
    with printed_on(done.training_round.settings.round.paper):
        documents: Iterator[tuple[str, bytes]] = iter(
            (
                ("report.html", report.render(done.plan, figures).encode()),
                ("report.xlsx", workbooks.render_figures(done.plan, figures)),
                ("follow-up.xlsx", workbooks.render_follow_up(done)),
            )
        )
        (fresh / CLOSING).mkdir()
        for name, content in documents:
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
