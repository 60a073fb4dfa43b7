"""The use cases of the day and after: take attendance in, end a round with its final report, propose the next one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.outfolder.outputs import user_name
from roundplan.outfolder.places import StrPath
from roundplan.outfolder.records import Waits, folder_of, record_of, told_plan
from roundplan.workflow.ended import done_of, end_round, today_of

if TYPE_CHECKING:
    from roundplan.attendance.form import Form
    from roundplan.outfolder.announced import AnnouncedPlan


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
        What became of the sessions that the forms are of, and which form has not come back; of all, without forms.
    ended : bool or None
        Whether a final report was written; None if none was asked for, False if nothing had changed since the last.
    """

    version: int
    taken: int
    corrected: tuple[str, ...]
    findings: tuple[str, ...]
    told: tuple[str, ...]
    ended: bool | None = None


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
        done = done_of(announced, connection)
        asked = {statement.session for statement in understander.statements} & set(done.sessions)
        lines = tuple(told(done, today_of(done), () if final else asked))
        found = (*understander.findings, *taken.findings, *doubts(connection))
    ended = end_round(out, folder, author, waits) if final else None
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
    from roundplan.outfolder.purged import purge_folder

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
