"""What could be given up where all that is settled leaves no plan, and the command that gives it up."""

from __future__ import annotations

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.outcome import ProvenImpossible, RepairImpossible
from roundplan.outfolder.places import StrPath
from roundplan.replanning.situation import Situation


def with_ways_out(proven: ProvenImpossible, now: Situation, out: StrPath) -> RepairImpossible:
    """Return what a repair ends with, said so that the manager can choose."""
    locks = proven.releases or proven.together
    ways = tuple(_way(lock, now, out) for lock in locks)
    return RepairImpossible(proven, ways, all_of_them=not proven.releases)


def _way(lock: Lock, now: Situation, out: StrPath) -> str:
    locks = now.reading.training_round.locks
    settled = sum(row.table == "locks" for row in now.decided.rows)
    number = locks.index(lock) + 1
    if number <= len(locks) - settled:
        return f"lock {number} of the tables ({_what(lock, now)}): roundplan fact {out} unlock {number}"
    what = _what(lock, now)
    if lock.kind is LockKind.SESSION or "begun before" in lock.why:
        return f"{what}: it has begun, and can only be as it was"
    if lock.do is Do.FORBID and not lock.why.startswith("stays"):
        return f"{what}: ask whether they can come after all, and take that reply with --instead"
    return f'{what}: roundplan replan {out} --release {lock.who} --why "..."'


def _what(lock: Lock, now: Situation) -> str:
    name = now.reading.training_round.name_of
    parts = [lock.do.value, lock.kind.value, name(lock.who) if lock.who else "", lock.role or ""]
    parts += [f"at {name(lock.place)}" if lock.place else "", lock.date.isoformat() if lock.date else ""]
    words = " ".join(part for part in parts if part)
    return f"{words}, {lock.why}" if lock.why else words
