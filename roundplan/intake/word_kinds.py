"""Cells with set words: yes and no, one of a few, lists of roles, languages, head counts."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import Any

from roundplan.domain.role import Role
from roundplan.intake.day_kinds import parts_of, refuse_commas
from roundplan.intake.finding import BadCell, nearest, quoted
from roundplan.intake.kinds import Kind, read_code

NONE = "none"
_YES_NO = {"yes": True, "no": False, "true": True, "false": False}
_LANGUAGE = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*", re.ASCII)
MOST_STAFF = 99


def _offer(word: str, known: tuple[str, ...]) -> str:
    near = nearest(word, known)
    return f"did you mean {near}?" if near else "use one of: " + ", ".join(known)


def _read_yes_no(text: str, _digits: int) -> bool:
    if text.casefold() not in _YES_NO:
        raise BadCell("unknown-word", "is neither yes nor no", "write yes or no, or leave it blank for no")
    return _YES_NO[text.casefold()]


def _write_yes_no(value: Any, _digits: int) -> str:
    return "yes" if value else "no"


def _word(text: str, known: tuple[str, ...], what: str) -> str:
    plain = " ".join(text.casefold().replace("_", " ").split())
    if plain in known:
        return plain
    raise BadCell("unknown-word", f"{quoted(text)} is no {what}", _offer(plain, known))


def one_of(words: type[StrEnum], what: str) -> Kind:
    """Return the kind of a cell that holds one word of an enumeration."""
    known = tuple(member.value for member in words)

    def read(text: str, _digits: int) -> StrEnum:
        return words(_word(text, known, what))

    return Kind("one of: " + ", ".join(known), read, lambda value, _: str(value.value), next(iter(words)), known)


def one_of_words(known: tuple[str, ...], what: str) -> Kind:
    """Return the kind of a cell that holds one of a few words, kept as text."""
    return Kind(
        "one of: " + ", ".join(known), lambda text, _: _word(text, known, what), lambda v, _: str(v), known[0], known
    )


def some_of(words: type[StrEnum], what: str) -> Kind:
    """Return the kind of a cell that holds a set of words of an enumeration."""
    known = tuple(member.value for member in words)

    def read(text: str, _digits: int) -> frozenset[StrEnum]:
        _refuse_commas_between(text, known)
        return frozenset(words(_word(part, known, what)) for part in parts_of(text))

    def write(value: Any, _digits: int) -> str:
        return "; ".join(member.value for member in words if member in value)

    return Kind("some of: " + ", ".join(known) + ", separated by ;", read, write, frozenset(words), form="list")


def _refuse_commas_between(text: str, known: tuple[str, ...]) -> None:
    if "," in text and any(part.strip().casefold() in known for part in text.split(",")):
        refuse_commas(text)


_ROLES = tuple(role.value for role in Role)


def _read_roles(text: str, _digits: int) -> tuple[Role, ...]:
    if text.casefold() == NONE:
        return ()
    _refuse_commas_between(text, _ROLES)
    return tuple(Role(_word(part, _ROLES, "role")) for part in parts_of(text))


def _write_roles(value: Any, _digits: int) -> str:
    return "; ".join(role.value for role in value) or NONE


def _read_own_roles(text: str, digits: int) -> tuple[Role, ...]:
    roles = _read_roles(text, digits)
    if not roles:
        raise BadCell("unknown-word", "names no role", "list at least one role, the main one first")
    twice = next((role for role in roles if roles.count(role) > 1), None)
    if twice is not None:
        raise BadCell("role-twice", f"names {twice} twice", "name each role of a person once")
    return roles


def _language(part: str) -> str:
    if not _LANGUAGE.fullmatch(part):
        raise BadCell("bad-language", f"{quoted(part)} is no language code", "use BCP 47 codes such as en or pt-MZ")
    first, *others = part.split("-")
    styled = [other.upper() if len(other) == 2 else other.title() if len(other) == 4 else other for other in others]
    return "-".join([first.lower(), *styled])


def _read_languages(text: str, _digits: int) -> tuple[str, ...]:
    refuse_commas(text)
    return tuple(dict.fromkeys(_language(part) for part in parts_of(text)))


def _joined(value: Any, _digits: int) -> str:
    return "; ".join(value)


def _read_codes(text: str, _digits: int) -> tuple[str, ...]:
    refuse_commas(text)
    return tuple(read_code(part) for part in parts_of(text))


def _read_counts(text: str, _digits: int) -> tuple[tuple[Role, int], ...]:
    refuse_commas(text)
    counts: dict[Role, int] = {}
    for part in parts_of(text):
        name, _, count = part.rpartition(" ")
        if not (count.isascii() and count.isdigit() and len(count) <= 3 and int(count) <= MOST_STAFF):
            words = f"{quoted(part)} is not a role and a number up to {MOST_STAFF}"
            raise BadCell("bad-count", words, "write a role and how many, such as anaesthetist 2")
        role = Role(_word(name, _ROLES, "role"))
        if role in counts:
            raise BadCell("role-twice", f"names {role} twice", "count each role once")
        counts[role] = int(count)
    return tuple(counts.items())


def _write_counts(value: Any, _digits: int) -> str:
    return "; ".join(f"{role.value} {count}" for role, count in value)


YES_NO = Kind("yes or no; blank = no", _read_yes_no, _write_yes_no, False, ("yes", "no"), form="yes/no")
ROLES = Kind("roles separated by ;", _read_roles, _write_roles, tuple(Role), form="list")
OWN_ROLES = Kind("roles separated by ;, the main one first", _read_own_roles, _write_roles, tuple(Role), form="list")
LANGUAGES = Kind("language codes (BCP 47) separated by ;", _read_languages, _joined, (), form="list")
LANGUAGE = Kind("language code (BCP 47)", lambda text, _: _language(text), lambda v, _: str(v), "en")
CODES = Kind("codes separated by ;", _read_codes, _joined, (), form="list")
COUNTS = Kind("role and number, separated by ;", _read_counts, _write_counts, (), form="list")
