"""Removing personal data from a folder of outputs once its round is closed; the anonymous record stays."""

from __future__ import annotations

import dataclasses
import shutil
import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.outcome import WrongPlace
from roundplan.outfolder.outputs import fingerprint, user_name
from roundplan.outfolder.places import CLOSING, INPUTS, PLAN_FILE, StrPath, place_words

if TYPE_CHECKING:
    from sqlite3 import Connection

    from roundplan.domain.training_round import TrainingRound

KEPT = ("summary.html", "supplies.xlsx", "labels.html")
"""Documents that name nobody by design, and stay."""

FIGURES = ("report.html", "report.xlsx")
"""Files of the final report that name nobody, and stay."""

Waits = Callable[[], None] | None


class _Nothing(Exception):
    """Removed before: the folder stays as it is."""


def purge_folder(
    out: StrPath, folder: Path, *, who: str | None = None, why: str | None = None, waits: Waits = None
) -> bool:
    """Remove names, contacts, replies and remarks from a folder and its record, all at one moment or not at all.

    The plan and its inputs stay with new codes in place of people, so that they can still be audited; documents that
    name people, replies, contacts and attendance go, the figures of the final report stay. What the record held is gone
    from the file itself.

    Parameters
    ----------
    out : path-like
        The folder as it was given, for messages.
    folder : Path
        The folder of outputs, links resolved.

    Returns
    -------
    bool
        False if it had been done before.

    Raises
    ------
    WrongPlace
        If the round is not closed, or its date has not come.
    """
    from roundplan.followup.held.purge import purged
    from roundplan.followup.record import RECORD_NAMES, RecordUnreadable, carry, has_record, opened
    from roundplan.followup.versions import Author
    from roundplan.handouts.folder import OWN_NAMES
    from roundplan.handouts.write import NotOurs, replacing
    from roundplan.tasks import clear_beside

    author = Author(who or user_name(), why or "the date that the round sets")
    try:
        with replacing(folder, OWN_NAMES | RECORD_NAMES | {CLOSING}, waits) as fresh:
            if not has_record(folder):
                raise WrongPlace(f"{out} has no record; nothing was removed")
            carry(folder, fresh)
            with opened(fresh) as connection:
                if purged(connection):
                    raise _Nothing
                _refuse_early(connection, out)
                _empty(connection, folder, fresh, author)
            clear_beside(folder)
    except _Nothing:
        return False
    except (NotOurs, OSError, RecordUnreadable) as error:
        raise WrongPlace(place_words(error, folder)) from error
    return True


def purge_if_due(folder: Path, waits: Waits = None) -> None:
    """Remove personal data if the round is closed, its date has come, and nobody has done so yet."""
    from roundplan.followup.held.purge import purge_date, purged
    from roundplan.followup.record import RecordUnreadable, has_record, opened
    from roundplan.handouts.write import alone

    if not has_record(folder):
        return
    try:
        with alone(folder.parent, waits), opened(folder) as connection:
            day = None if purged(connection) else purge_date(connection)
    except (OSError, RecordUnreadable):
        return  # the command itself says what is wrong with the record
    if day is not None and day <= _today():
        purge_folder(folder, folder, who="roundplan", waits=waits)


def _today() -> date:
    from roundplan.followup.clock import now

    return now().date()


def _refuse_early(connection: Connection, out: StrPath) -> None:
    from roundplan.followup.held.purge import closed, purge_date

    if not closed(connection):
        words = "personal data are removed after the final report, not before"
        raise WrongPlace(f"{words}; run: roundplan close {out} --final")
    day = purge_date(connection)
    if day is not None and day > _today():
        raise WrongPlace(f"personal data are kept until {day.isoformat()}, the purge_on of the round")


def _empty(connection: Connection, folder: Path, fresh: Path, author: object) -> None:
    """Fill the fresh folder with what may stay, and its record with what names nobody."""
    from roundplan.closing.anonymous import anonymous
    from roundplan.followup.held.purge import empty
    from roundplan.followup.versions import Author, input_files_of, last_told, plan_of
    from roundplan.handouts.codec import plan_from_json, plan_to_json
    from roundplan.intake import read_round

    told = last_told(connection)
    assert told is not None, "only an announced round is closed"
    assert isinstance(author, Author)
    files = input_files_of(connection, told)
    with tempfile.TemporaryDirectory() as scratch:
        for name, content in files.items():
            Path(scratch, name).write_bytes(content)
        reading = read_round(scratch)
    plan, bare = anonymous(plan_from_json(plan_of(connection, told)), reading.training_round)
    _write_inputs(bare, files, fresh / INPUTS)
    plan = dataclasses.replace(plan, fingerprint=fingerprint(fresh / INPUTS))
    text = plan_to_json(plan)
    (fresh / PLAN_FILE).write_text(text, encoding="utf-8")
    for name in KEPT:
        if (folder / name).is_file():
            shutil.copy2(folder / name, fresh / name)
    (fresh / CLOSING).mkdir()
    for name in FIGURES:
        shutil.copy2(folder / CLOSING / name, fresh / CLOSING / name)
    inputs = {path.name: path.read_bytes() for path in sorted((fresh / INPUTS).iterdir())}
    empty(connection, told, text, (plan.fingerprint, inputs), author)


def _write_inputs(bare: TrainingRound, files: dict[str, bytes], folder: Path) -> None:
    """Write the inputs without names, with the outlines of the map that lay among them."""
    from roundplan.intake import write_round

    write_round(bare, folder)
    base = bare.settings.map.base
    if base and base in files:
        (folder / base).write_bytes(files[base])
