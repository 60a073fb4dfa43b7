"""What each reader is told of the difference between two versions of a plan, a sentence each."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from roundplan.handouts.difference import Differences
from roundplan.handouts.document import Reader, Whose
from roundplan.handouts.speech import say


def changes_told(differences: Differences) -> Callable[[Whose], Sequence[str]]:
    """Return what says what changed for a reader, in the language that is spoken.

    The store is told nothing here: its lists speak for themselves.
    """

    def told(whose: Whose) -> Sequence[str]:
        if whose.reader is Reader.DISTRICT:
            return _of_district(differences, whose.code)
        if whose.reader is Reader.SESSION:
            held = {session.code for session in differences.matched.after.plan.sessions}
            return [c.words() for c in differences.of_session(whose.code)] if whose.code in held else ()
        asked = {
            Reader.FACILITY: differences.of_facility,
            Reader.TRAINER: differences.of_trainer,
            Reader.CREW: differences.of_crew,
        }.get(whose.reader)
        return [change.words() for change in asked(whose.code)] if asked else ()

    return told


def _of_district(differences: Differences, district: str) -> Sequence[str]:
    names = {f.code: f.name for f in differences.matched.before.training_round.facilities}
    names |= {f.code: f.name for f in differences.matched.after.training_round.facilities}
    return [
        say("{facility}: {change}", facility=names[change.facility], change=change.words())
        for change in differences.of_district(district)
    ]
