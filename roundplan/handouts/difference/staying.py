"""What a facility has to be told about those who stay: shift by shift, role by role."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import partial

from roundplan.domain.plan import Cover, CoverKind
from roundplan.domain.role import Role, Shift
from roundplan.handouts.difference.change import Change, Effect, Topic
from roundplan.handouts.difference.matching import Matched, by_role
from roundplan.handouts.facility.cover import why_words
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import capital, list_words, shift_words

_Key = tuple[date, Shift, str]
"""A shift, and the team that simulates meanwhile (by its code in the later plan); empty for the shift as a whole."""


@dataclass(frozen=True, slots=True)
class _Stay:
    """Who stays in a shift, whatever for."""

    index: PlanIndex
    covers: tuple[Cover, ...]

    @property
    def named(self) -> dict[tuple[Role, str], None]:
        """Who fills which role; whoever stays for two reasons stays once."""
        return dict.fromkeys(pair for cover in self.covers for pair in cover.named)

    @property
    def whys(self) -> tuple[str, ...]:
        """Say what else they stay for than the facility's own emergencies."""
        return tuple(dict.fromkeys(why for cover in self.covers if (why := why_words(self.index, cover))))

    @property
    def shift(self) -> str:
        """Say the shift and what people stay for in it."""
        said = capital(shift_words(self.covers[0].date, self.covers[0].shift))
        return say("{shift} ({why})", shift=said, why=list_words(self.whys)) if self.whys else said

    @property
    def people(self) -> str:
        """Name those who stay, each with the role."""
        pairs = self.named
        return list_words(say("{name} ({role})", name=self.index.name(p), role=role_word(role)) for role, p in pairs)


def staying_changes(matched: Matched, facility: str) -> Iterator[Change]:
    """Yield what is different about those who stay at a facility, in the order of the shifts."""
    before = _stays(matched.before, facility, matched.later_team)
    after = _stays(matched.after, facility, {})
    for key in sorted({*before, *after}, key=lambda k: (k[0], k[1] is Shift.NIGHT, k[2])):
        old, new = before.get(key), after.get(key)
        if new is None:
            assert old is not None
            yield _change(facility, key, Effect.GONE, partial(_gone_words, old))
        elif old is None:
            yield _change(facility, key, Effect.NEW, partial(_new_words, new))
        else:
            yield from _shift(facility, key, old, new)


def _stays(index: PlanIndex, facility: str, later_team: dict[str, str]) -> dict[_Key, _Stay]:
    found: dict[_Key, list[Cover]] = {}
    for cover in index.cover_at(facility):
        team = cover.team or "" if cover.kind is CoverKind.SLOT else ""
        found.setdefault((cover.date, cover.shift, later_team.get(team, team)), []).append(cover)
    return {key: _Stay(index, tuple(covers)) for key, covers in found.items()}


def _shift(facility: str, key: _Key, old: _Stay, new: _Stay) -> Iterator[Change]:
    other = list(by_role(old.named, new.named))
    for role, left, come in other:
        if come is None:
            assert left is not None
            yield _change(facility, key, Effect.GONE, partial(_free_words, old, new, role, left), left, role)
        elif left is None:
            yield _change(facility, key, Effect.NEW, partial(_more_words, new, role, come), come, role)
        else:
            tell = partial(_instead_words, old, new, role, left, come)
            yield _change(facility, key, Effect.CHANGED, tell, come, role)
    if not other and old.whys != new.whys:
        yield _change(facility, key, Effect.CHANGED, partial(_new_words, new))


def _change(
    facility: str, key: _Key, effect: Effect, tell: partial[str], person: str = "", role: Role | None = None
) -> Change:
    return Change(
        topic=Topic.COVER, effect=effect, facility=facility, team=key[2], date=key[0], shift=key[1],
        person=person, role=role, tell=tell,
    )  # fmt: skip


def _new_words(stay: _Stay) -> str:
    return say("{shift}, to stay: {people}.", shift=stay.shift, people=stay.people)


def _gone_words(stay: _Stay) -> str:
    return say("{shift}: nobody needs to be named to stay any longer.", shift=stay.shift)


def _free_words(old: _Stay, new: _Stay, role: Role, person: str) -> str:
    name = old.index.name(person)
    return say("{shift}, {role}: {name} need not stay.", shift=new.shift, role=role_word(role), name=name)


def _more_words(new: _Stay, role: Role, person: str) -> str:
    name = new.index.name(person)
    return say("{shift}, {role}: {name} stays too.", shift=new.shift, role=role_word(role), name=name)


def _instead_words(old: _Stay, new: _Stay, role: Role, left: str, come: str) -> str:
    return say(
        "{shift}, {role}: {name} stays, no longer {before}.",
        shift=new.shift,
        role=role_word(role),
        name=new.index.name(come),
        before=old.index.name(left),
    )
