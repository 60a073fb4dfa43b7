"""The record of a folder of outputs, opened for a use case: alone in it, and with what readers were told last."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.outcome import WrongPlace
from roundplan.outfolder.places import INPUTS, PLAN_FILE, StrPath, place_words

if TYPE_CHECKING:
    from sqlite3 import Connection

    from roundplan.outfolder.announced import AnnouncedPlan

Waits = Callable[[], None] | None
"""Called once if another run has to be waited for."""


@contextmanager
def record_of(folder: Path, waits: Waits) -> Iterator[Connection | None]:
    """Open a folder's record while no other run writes there; None if it has none."""
    from roundplan.followup.record import RecordUnreadable, has_record, opened
    from roundplan.handouts.write import alone

    try:
        with alone(folder.parent, waits):
            if has_record(folder):
                with opened(folder) as connection:
                    yield connection
            else:
                yield None
    except (OSError, RecordUnreadable) as error:
        raise WrongPlace(place_words(error, folder)) from error


def told_plan(connection: Connection | None, out: StrPath) -> AnnouncedPlan:
    """Return the version that readers were told last.

    Raises
    ------
    WrongPlace
        If nothing has been announced there, or its round is over and nobody is named there any more.
    """
    from roundplan.followup.held.purge import purged
    from roundplan.outfolder.announced import announced_plan

    if connection is not None and purged(connection):
        raise WrongPlace(f"the personal data of {out} have been removed; the round cannot be changed any more")
    found = announced_plan(connection) if connection else None
    if found is None:
        raise WrongPlace(f"nothing in {out} has been announced yet; run: roundplan announce {out}")
    return found


def folder_of(out: StrPath, waits: Waits, *, purging: bool = True) -> Path:
    """Return a folder of outputs with links resolved, what an interrupted run left beside it put right.

    Where its round is closed and the date for that has come, personal data are removed first, unless ``purging``
    says not to.
    """
    from roundplan.handouts.write import NotOurs, recover
    from roundplan.outfolder.purged import purge_if_due

    folder = Path(out)
    try:
        recover(folder, waits)
        folder = folder.resolve()
    except (NotOurs, OSError, RuntimeError) as error:
        raise WrongPlace(place_words(error, out)) from error
    if not (folder / PLAN_FILE).is_file() or not (folder / INPUTS).is_dir():
        raise WrongPlace(
            f"{out} holds no {PLAN_FILE} with its {INPUTS} folder; name a folder that a plan was written to"
        )
    if purging:
        purge_if_due(folder, waits)
    return folder
