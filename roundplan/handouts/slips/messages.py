"""A slip as phone messages: short numbered parts, a code a line, answered by typing the code and a word."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from roundplan.domain.plan import Plan
from roundplan.handouts.marking import TYPED_MARK, changes, with_mark
from roundplan.handouts.page import printable
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.slips.rows import SeatRow, ShiftRow, Slip, offered_but_needed, slip_of
from roundplan.handouts.slips.words_of import reply_said, short_said
from roundplan.handouts.speech import say, without_marks
from roundplan.handouts.terms import role_word, shift_word
from roundplan.handouts.words import HARD_SPACE, short_date
from roundplan.slips.numbering import Numbers
from roundplan.slips.reply_code import Word, person_code

LONGEST = 480
"""Characters of one part: about three short messages, which phones join into one (common practice, no source)."""

LONGEST_NAME = 32
"""Characters of a name in a message; a longer one is cut and marked as cut."""

_UNSEEN = str.maketrans({HARD_SPACE: " ", "\N{NARROW NO-BREAK SPACE}": " ", "\N{WORD JOINER}": None, "\n": " "})


@dataclass(frozen=True, slots=True)
class Block:
    """Lines under one heading, which is said again where they go over into the next part."""

    heading: str
    lines: tuple[str, ...]


def render(index: PlanIndex, facility: str, *, version: int | None = None, numbers: Numbers | None = None) -> str:
    """Return a facility's slip as text: its messages in order, a blank line between them.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    facility : str
        Code of the facility.
    version : int or None
        Version of this slip's own last change; None = the plan's.
    numbers : Numbers or None
        Letters and numbers of reply codes; None = as if no slip had gone out before.
    """
    return "\n\n".join(messages(index, facility, version=version, numbers=numbers)) + "\n"


def messages(
    index: PlanIndex, facility: str, *, version: int | None = None, numbers: Numbers | None = None
) -> tuple[str, ...]:
    """Return a facility's slip as phone messages of at most ``LONGEST`` characters, numbered."""
    slip = slip_of(index, facility, version, numbers)
    blocks = [_marked(block) for block in (*_teams(index, slip), *_shifts(index, slip), *_others(index, slip))]
    if not blocks:
        blocks = [Block(say("Nobody from here goes or is named to stay in this round."), ())]
    else:
        blocks.insert(0, _how(slip))
    blocks = [*_changed(), *blocks]
    head = _head(index.plan, slip)
    return tuple(_parts([_short_block(block) for block in blocks], _text(head)))


def _changed() -> Iterator[Block]:
    """Yield what changed since the reader had this slip."""
    told = changes()
    if told is not None:
        yield Block(say("{title}:", title=told.title), told.told(TYPED_MARK))


def _marked(block: Block) -> Block:
    heading = with_mark("", block.heading, TYPED_MARK)
    return Block(heading, tuple(with_mark(block.heading, line, TYPED_MARK) for line in block.lines))


def _head(plan: Plan, slip: Slip) -> str:
    name = _name(slip.facility.name)
    if plan.status == "draft":
        return say("{facility}, version {version}, draft, do not act on it yet", facility=name, version=slip.version)
    return say("{facility}, version {version}", facility=name, version=slip.version)


def _how(slip: Slip) -> Block:
    """Say how to answer, with the first code as an example."""
    codes = [*(row.code for row in slip.seats), *(row.code for row in slip.shifts)]
    first = next((code for code in codes if code), "")
    if not first:
        return Block("", ())
    return Block(
        say(
            'Answer with the code and "{yes}", "{no}", or "{by}" and the code of who comes. Example: {code} {yes}',
            yes=reply_said(Word.YES),
            no=reply_said(Word.NO),
            by=short_said(),
            code=first,
        ),
        (),
    )


def _teams(index: PlanIndex, slip: Slip) -> Iterator[Block]:
    teams: dict[str, list[SeatRow]] = {}
    for row in slip.seats:
        if row.code:
            teams.setdefault(row.team.code, []).append(row)
    for rows in teams.values():
        first = rows[0]
        dates = ", ".join(short_date(day) for day in first.team.dates)
        outing = index.outing(first.team, first.seat.person)
        if outing is not None and outing.drives:
            heading = say(
                "{team}, {dates}, {venue}, leave {leave}, back {back}:",
                team=first.what, dates=dates, venue=_name(first.venue), leave=first.leaves, back=first.returns,
            )  # fmt: skip
        else:
            heading = say(
                "{team}, {dates}, {venue}, no journey:", team=first.what, dates=dates, venue=_name(first.venue)
            )
        yield Block(heading, tuple(f"{row.code} {_name(row.name)}, {role_word(row.seat.role)}" for row in rows))


def _shifts(index: PlanIndex, slip: Slip) -> Iterator[Block]:
    if slip.shifts:
        lines = tuple(f"{row.code} {_shift(row)}: {_stayers(index, row)}" for row in slip.shifts)
        yield Block(say("These stay; answer for each shift, the day before:"), lines)


def _shift(row: ShiftRow) -> str:
    return f"{short_date(row.date)}, {shift_word(row.shift)}"


def _stayers(index: PlanIndex, row: ShiftRow) -> str:
    named = dict.fromkeys(person for cover in row.covers for _, person in cover.named)
    return ", ".join(_name(index.name(person)) for person in named)


def _others(index: PlanIndex, slip: Slip) -> Iterator[Block]:
    """Yield who could come instead, with the roles that they could take and the codes that name them."""
    home = slip.facility.code
    numbers = {p.code: slip.numbers.people[home, p.code] for p in index.training_round.staff_of(home)}
    roles: dict[str, dict[str, None]] = {}
    for row in slip.seats:
        for person in row.substitutes:
            roles.setdefault(person.code, {})[role_word(row.seat.role)] = None
    lines = {
        code: f"{_person(slip, numbers[code])} {_name(index.name(code))}: {', '.join(held)}"
        for code, held in sorted(roles.items(), key=lambda entry: numbers[entry[0]])
    }
    stay = offered_but_needed(index, slip)
    free = tuple(line for code, line in lines.items() if code not in stay)
    needed = tuple(line for code, line in lines.items() if code in stay)
    if free:
        yield Block(say("These could come instead:"), free)
    if needed:
        yield Block(say("These are named to stay; they come only if somebody else stays instead:"), needed)


def _person(slip: Slip, number: int) -> str:
    return person_code(slip.numbers.letters[slip.facility.code], number, slip.numbers.check)


def _parts(blocks: Sequence[Block], head: str) -> Iterator[str]:
    """Yield the parts, each with its number and the head; the number of parts settles itself."""
    guess = 1
    while True:
        parts = list(_filled(blocks, head, guess))
        if len(str(len(parts))) <= len(str(guess)):
            break
        guess = len(parts)
    for number, lines in enumerate(parts, start=1):
        yield "\n".join((f"{number}/{len(parts)} {head}", *lines))


def _filled(blocks: Sequence[Block], head: str, parts: int) -> Iterator[list[str]]:
    room = LONGEST - len(f"{parts}/{parts} {head}")
    lines: list[str] = []
    used = 0
    for block in blocks:
        pending = [block.heading] if block.heading else []
        for line in block.lines or ("",):
            wanted = [*pending, line] if line else pending
            need = sum(len(text) + 1 for text in wanted)
            if lines and used + need > room:
                yield lines
                lines, used = [], 0
                wanted = [block.heading, line] if line and block.heading else wanted
                need = sum(len(text) + 1 for text in wanted)
            lines += wanted
            used += need
            pending = []
    if lines:
        yield lines


def _short_block(block: Block) -> Block:
    """Return a block as plain text, no line of it so long that it would not fit beside head and heading."""
    return Block(_cut(_text(block.heading), 190), tuple(_cut(_text(line), 200) for line in block.lines))


def _text(text: str) -> str:
    return " ".join(without_marks(str(printable(text))).translate(_UNSEEN).split())


def _name(name: str) -> str:
    return _cut(_text(name), LONGEST_NAME)


def _cut(text: str, longest: int) -> str:
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"
