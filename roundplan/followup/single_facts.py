"""New facts given as one command: a word, and who or what, from when to when."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from roundplan.domain.training_round import TrainingRound
from roundplan.intake.changes import ChangedRow, Effect
from roundplan.intake.finding import nearest

SOURCE = "as given"
"""Where these rows stand, as findings name it."""

RawText = Mapping[str, Sequence[Mapping[str, str]]]


class NotUnderstood(ValueError):
    """A fact that cannot be made out; the text says why in plain words."""


@dataclass(frozen=True, slots=True)
class Now:
    """The tables as they stand, with all facts in force."""

    training_round: TrainingRound
    tables: RawText

    @property
    def last_day(self) -> str:
        """The last date of the round."""
        return self.training_round.settings.round.last_day.isoformat()

    def code(self, text: str, *kinds: str) -> str:
        """Return the code of something named by its code or by a name that nothing else has.

        Raises
        ------
        NotUnderstood
            If it is neither.
        """
        r = self.training_round
        rows = {
            "person": [(p.code, p.name) for p in r.people],
            "trainer": [(t.code, t.name) for t in r.trainers],
            "crew": [(c.code, c.code) for c in r.crews],
            "facility": [(f.code, f.name) for f in r.facilities],
            "place": [(p.code, p.name) for p in r.places],
        }
        known = [row for kind in kinds for row in rows[kind]]
        codes = dict.fromkeys(code for code, _ in known)
        if text in codes:
            return text
        named = [code for code, name in known if name.casefold() == text.casefold()]
        if len(named) == 1:
            return named[0]
        what = " or ".join(kinds)
        if named:
            raise NotUnderstood(f"there is more than one {what} called {text}: give the code, {' or '.join(named)}")
        near = nearest(text, [*codes, *(name for _, name in known)])
        raise NotUnderstood(f"there is no {what} {text}" + (f"; did you mean {near}?" if near else ""))

    def cell(self, table: str, column: str, code: str) -> str:
        """Return a cell of the row of a code, blank if it has none."""
        name = {"facilities": "facility", "places": "place"}[table]
        return next((row.get(column, "") for row in self.tables.get(table, ()) if row.get(name) == code), "")


Rows = list[tuple[str, dict[str, str]]]


@dataclass(frozen=True, slots=True)
class Word:
    """One word that a fact can begin with.

    Attributes
    ----------
    least, most : int
        How many further words it takes.
    usage, meaning : str
        What to type, and what it means.
    rows : function
        Makes the rows from the tables as they stand and the further words.
    """

    usage: str
    meaning: str
    least: int
    most: int
    rows: Callable[[Now, Sequence[str]], Rows]


def _away(kind: str, *kinds: str) -> Callable[[Now, Sequence[str]], Rows]:
    def rows(now: Now, said: Sequence[str]) -> Rows:
        last = said[2] if len(said) > 2 else now.last_day
        return [("absences", {"who": now.code(said[0], *kinds), "from": said[1], "to": last, "kind": kind})]

    return rows


def _shift_off(now: Now, said: Sequence[str]) -> Rows:
    who, day, shift = now.code(said[0], "person"), said[1], said[2]
    return [("absences", {"who": who, "from": day, "to": day, "kind": "cannot stay", "shift": shift})]


def _closed_road(now: Now, said: Sequence[str]) -> Rows:
    start, end = (now.code(text, "facility", "place") for text in said[:2])
    ends = {start, end}
    if not any({road.start, road.end} == ends for road in now.training_round.roads):
        raise NotUnderstood(f"the table roads has no stretch between {start} and {end}: name both ends of one stretch")
    return [("roads", {"from": start, "to": end, "closed_from": said[2], "closed_to": said[3]})]


def _closed_venue(now: Now, said: Sequence[str]) -> Rows:
    code = now.code(said[0], "facility", "place")
    table, name = ("facilities", "facility") if now.training_round.is_facility(code) else ("places", "place")
    first, last = said[1], said[2] if len(said) > 2 else said[1]
    closed = [part.strip() for part in now.cell(table, "closed_days", code).split(";") if part.strip()]
    span = first if first == last else f"{first}/{last}"
    return [(table, {name: code, "closed_days": "; ".join(dict.fromkeys((*closed, span)))})]


def _late(now: Now, said: Sequence[str]) -> Rows:
    teams = said[1] if len(said) > 1 else "1"
    return [("facilities", {"facility": now.code(said[0], "facility"), "teams_wanted": teams})]


def _cap(now: Now, said: Sequence[str]) -> Rows:
    return [("round", {"section": "prices", "key": "cap", "value": said[0]})]


def _roster(now: Now, said: Sequence[str]) -> Rows:
    return [("duties", {"person": now.code(said[0], "person"), "date": said[1], "shift": said[2]})]


def _swap(now: Now, said: Sequence[str]) -> Rows:
    one, other, day = now.code(said[0], "person"), now.code(said[1], "person"), said[2]
    duties = {p: [d.kind.value for d in now.training_round.duties if d.person == p and d.date.isoformat() == day]
              for p in (one, other)}  # fmt: skip
    if not duties[one]:
        raise NotUnderstood(f"the roster has no duty of {said[0]} on {day}; enter it with: roster")
    return [
        *(("duties", {"person": other, "date": day, "shift": shift}) for shift in duties[one]),
        *(("duties", {"person": one, "date": day, "shift": shift}) for shift in duties[other] or ["off"]),
    ]


def _lent(now: Now, said: Sequence[str]) -> Rows:
    person, facility = now.code(said[0], "person"), now.code(said[1], "facility")
    return [("relief", {"person": person, "facility": facility, "from": said[2], "to": said[3]})]


WORDS: dict[str, Word] = {
    "absent": Word(
        "absent WHO FROM [TO]", "a person, trainer or crew is away; without TO, to the end of the round", 2, 3,
        _away("away", "person", "trainer", "crew"),
    ),
    "cannot-stay": Word(
        "cannot-stay WHO DATE day|night", "somebody is not there in one shift, a night by its evening", 3, 3, _shift_off
    ),
    "lost-trainer": Word(
        "lost-trainer WHO FROM [TO]", "a trainer cannot come any more", 2, 3, _away("lost", "trainer")
    ),
    "lost-crew": Word("lost-crew CREW FROM [TO]", "a vehicle or its crew is lost", 2, 3, _away("lost", "crew")),
    "closed-road": Word("closed-road END END FROM TO", "a stretch of road is closed", 4, 4, _closed_road),
    "closed-venue": Word("closed-venue PLACE FROM [TO]", "no session can be held there", 2, 3, _closed_venue),
    "late": Word("late FACILITY [TEAMS]", "a facility wants to send teams after all", 1, 2, _late),
    "cap": Word("cap AMOUNT", "the round may cost no more than this", 1, 1, _cap),
    "roster": Word("roster WHO DATE SHIFT", "a duty: day, night, on call or off", 3, 3, _roster),
    "swap": Word("swap WHO WITH DATE", "two people swap what the roster says for a date", 3, 3, _swap),
    "lent": Word("lent WHO FACILITY FROM TO", "somebody serves at another facility", 4, 4, _lent),
}  # fmt: skip
"""What a fact given as one command can begin with."""


def understood(now: Now, word: str, said: Sequence[str]) -> tuple[ChangedRow, ...]:
    """Return the rows of a fact given as one command.

    Raises
    ------
    NotUnderstood
        If it is none.
    """
    kind = WORDS.get(word)
    if kind is None:
        near = nearest(word, list(WORDS))
        hint = f"; did you mean {near}?" if near else ""
        raise NotUnderstood(f"no fact begins with {word}{hint}; they are: {', '.join(WORDS)}")
    if not kind.least <= len(said) <= kind.most:
        raise NotUnderstood(f"give it as: {kind.usage} ({kind.meaning})")
    return tuple(
        ChangedRow(table, cells, SOURCE, number) for number, (table, cells) in enumerate(kind.rows(now, said), start=1)
    )


def unlocked(now: Now, number: int) -> tuple[ChangedRow, ...]:
    """Return the row that takes a lock out, by its number in the table ``locks`` as it stands.

    Raises
    ------
    NotUnderstood
        If there is no such lock.
    """
    rows = now.tables.get("locks", ())
    if not 1 <= number <= len(rows):
        raise NotUnderstood(f"there is no lock {number}; the table locks has {len(rows)} rows")
    return (ChangedRow("locks", dict(rows[number - 1]), SOURCE, 1, Effect.DROP),)
