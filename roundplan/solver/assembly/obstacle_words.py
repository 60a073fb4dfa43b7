"""What stands in the way of a team, in whole sentences that can be said in other languages."""

from __future__ import annotations

from collections.abc import Sequence

from roundplan.domain.person import Person
from roundplan.domain.role import Role, Shift
from roundplan.domain.saying import Phrase, Saying, saying


def all_seated(able: int, role: Role) -> Saying:
    """Say that everybody authorised in a role has a seat."""
    if able == 1:
        return saying("its only {role} has a seat in the round already", role=role)
    return saying(
        "all {number} of its people authorised as {role} have a seat in the round already", number=able, role=role
    )


def rest_kept(able: int, free: int, role: Role, why: Sequence[Phrase]) -> Saying:
    """Say what keeps those without a seat from one, and how many of the same role have one."""
    seated = able - free
    if not seated and able == 1:
        return saying("its only {role} is {why}", role=role, why=why)
    if not seated:
        return saying("all {number} of its people authorised as {role} are {why}", number=able, role=role, why=why)
    if seated == 1 and free == 1:
        return saying(
            "1 of its {number} people authorised as {role} has a seat in the round already and the other is {why}",
            number=able, role=role, why=why,
        )  # fmt: skip
    if seated == 1:
        return saying(
            "1 of its {number} people authorised as {role} has a seat in the round already and the other {others} are "
            "{why}",
            number=able, role=role, others=free, why=why,
        )  # fmt: skip
    if free == 1:
        return saying(
            "{seated} of its {number} people authorised as {role} have a seat in the round already and the other is "
            "{why}",
            seated=seated, number=able, role=role, why=why,
        )  # fmt: skip
    return saying(
        "{seated} of its {number} people authorised as {role} have a seat in the round already and the other {others} "
        "are {why}",
        seated=seated, number=able, role=role, others=free, why=why,
    )  # fmt: skip


def missing_at_home(keep: Sequence[Role], people: Sequence[Person]) -> Saying:
    """Say which role of the keep-team nobody can cover although everybody is at home."""
    for role in dict.fromkeys(keep):
        if sum(role in p.cover_roles for p in people) < list(keep).count(role):
            return saying("nobody can cover as {role} even with everybody at home", role=role)
    return saying("the emergency team is not complete even with everybody at home")


def no_roster(shift: Shift) -> Saying:
    """Say that a shift without roster would keep too few, the spare people counted."""
    if shift is Shift.DAY:
        return saying("by day it has no roster, and with the spare people asked for too few would stay")
    return saying("by night it has no roster, and with the spare people asked for too few would stay")


def must_stay(able: int, role: Role, shift: Shift, *, alone: bool) -> Saying:
    """Say that those there for a role must stay: all, the only one of the staff, or the only one there at the time."""
    day = shift is Shift.DAY
    if able > 1 and day:
        return saying("everyone who is there and authorised as {role} must stay by day", role=role)
    if able > 1:
        return saying("everyone who is there and authorised as {role} must stay by night", role=role)
    if alone and day:
        return saying("its only {role} must stay by day", role=role)
    if alone:
        return saying("its only {role} must stay by night", role=role)
    if day:
        return saying("the only {role} who is there must stay by day", role=role)
    return saying("the only {role} who is there must stay by night", role=role)


def too_few_stay(shift: Shift, *, roster: bool) -> Saying:
    """Say that too few people would stay in a shift, roster known or not."""
    day = shift is Shift.DAY
    if roster and day:
        return saying("too few people would stay by day for the emergency team")
    if roster:
        return saying("too few people would stay by night for the emergency team")
    if day:
        return saying("too few people would stay by day for the emergency team, with all present as no roster is known")
    return saying("too few people would stay by night for the emergency team, with all present as no roster is known")
