"""Headings of the plan's tables, and values that stand there as codes, in the reader's language."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from roundplan.domain.plan import CoverKind, SlotKind, Status
from roundplan.domain.role import Role, Shift
from roundplan.domain.rules import Aim
from roundplan.domain.supply import ItemKind
from roundplan.handouts.manager.cost_words import cost_unit, cost_what
from roundplan.handouts.speech import message, say
from roundplan.handouts.terms import (
    aim_sentence,
    cost_line,
    cover_kind,
    item_kind,
    role_word,
    rule_sentence,
    shift_word,
    slot_word,
    time_source,
)

HEADS = {
    "aim": message("aim"),
    "amount": message("amount"),
    "arrive": message("arrive"),
    "better_is": message("better is"),
    "bound": message("bound"),
    "break_minutes": message("break minutes"),
    "case": message("case"),
    "case_name": message("case name"),
    "crew": message("crew"),
    "crews": message("crews"),
    "currency": message("currency"),
    "date": message("date"),
    "depart": message("depart"),
    "director": message("director"),
    "district": message("district"),
    "driver": message("driver"),
    "due": message("due"),
    "duties_to_swap": message("duties to swap"),
    "end": message("end"),
    "end_name": message("end name"),
    "facilities": message("facilities"),
    "facility": message("facility"),
    "facility_name": message("facility name"),
    "factor": message("factor"),
    "first_date": message("first date"),
    "for_facility": message("for facility"),
    "gap": message("gap"),
    "guest": message("guest"),
    "home": message("home"),
    "in_stock": message("in stock"),
    "item": message("item"),
    "joins_at": message("joins at"),
    "kind": message("kind"),
    "km": message("km"),
    "last_date": message("last date"),
    "latest_order_date": message("latest order date"),
    "leads": message("leads"),
    "leaves_at": message("leaves at"),
    "line": message("line"),
    "name": message("name"),
    "need": message("need"),
    "arrive_by": message("has to be there by"),
    "needed_by": message("trip starts on"),
    "night_at": message("night at"),
    "observers": message("observers"),
    "on_site": message("on site"),
    "pack_size": message("pack size"),
    "packs": message("packs"),
    "participants": message("participants"),
    "pauses": message("pauses"),
    "people": message("people"),
    "person": message("person"),
    "price": message("price"),
    "provisional": message("provisional"),
    "quantity": message("quantity"),
    "role": message("role"),
    "rule": message("rule"),
    "sentence": message("sentence"),
    "session": message("session"),
    "sessions": message("sessions"),
    "shift": message("shift"),
    "short": message("short"),
    "slot": message("slot"),
    "source": message("source"),
    "spare": message("spare"),
    "standby": message("standby"),
    "standby_name": message("standby name"),
    "start": message("start"),
    "start_name": message("start name"),
    "station": message("station"),
    "stations": message("stations"),
    "status": message("status"),
    "supplier": message("supplier"),
    "team": message("team"),
    "team_number": message("team number"),
    "teams": message("teams"),
    "tier": message("tier"),
    "too_late": message("too late"),
    "trainer": message("trainer"),
    "trip": message("trip"),
    "unit": message("unit"),
    "value": message("value"),
    "venue": message("venue"),
    "venue_name": message("venue name"),
    "via": message("via"),
    "wall": message("wall"),
    "wall_end": message("wall end"),
    "what": message("what"),
    "what_the_rule_says": message("what the rule says"),
    "wheel_minutes": message("wheel minutes"),
    "while_team": message("while team"),
    "who": message("who"),
    "why": message("why"),
}
"""Heading by the name of a frame's column."""

_BETTER = {"more": message("more"), "less": message("less")}
_AIMS = {
    Aim.FIRST_TEAMS: message("first teams"),
    Aim.MUST_PEOPLE: message("must people"),
    Aim.FURTHER_TEAMS: message("further teams"),
    Aim.REALISM: message("realism"),
    Aim.BURDEN: message("burden"),
    Aim.COST: message("cost"),
}
_STATUS = {
    Status.OPTIMAL: message("optimal"),
    Status.FEASIBLE: message("feasible"),
    Status.NO_BOUND: message("no bound"),
}
_UNITS = {
    "points": message("points"),
    "people": message("people"),
    "penalty points": message("penalty points"),
    "minutes": message("minutes"),
}


def _aim(value: str) -> str:
    return say(_AIMS[Aim(value)])


def _status(value: str) -> str:
    return say(_STATUS[Status(value)])


def _better(value: str) -> str:
    return say(_BETTER[value])


def _unit(value: str) -> str:
    return say(_UNITS[value]) if value in _UNITS else value


_VALUES: Mapping[str, Mapping[str, Callable[[str], str]]] = {
    "seats": {"role": lambda value: role_word(Role(value))},
    "slots": {"kind": lambda value: slot_word(SlotKind(value))},
    "cover": {
        "role": lambda value: role_word(Role(value)),
        "shift": lambda value: shift_word(Shift(value)),
        "kind": lambda value: cover_kind(CoverKind(value)),
    },
    "legs": {"source": time_source},
    "journeys": {"source": time_source},
    "supplies": {"kind": lambda value: item_kind(ItemKind(value))},
    "costs": {"line": cost_line, "unit": cost_unit},
    "tiers": {"aim": _aim, "sentence": aim_sentence, "better_is": _better, "status": _status, "unit": _unit},
    "left_out": {"what_the_rule_says": rule_sentence},
}
"""What says the codes of a frame's columns."""


def heading(column: str) -> str:
    """Say the heading of a frame's column."""
    return say(HEADS[column])


def shown(frame: str, row: Mapping[str, Any]) -> list[Any]:
    """Return a row of a frame as a reader sees it: codes said, everything else as it is."""
    speaks = _VALUES.get(frame, {})
    said = {name: speaks[name](value) if name in speaks and value is not None else value for name, value in row.items()}
    if frame == "costs":
        said["what"] = cost_what(row["what"], row["line"])
    return list(said.values())
