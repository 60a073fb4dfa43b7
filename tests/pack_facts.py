"""What the plan says against what a pack on paper says: each fact is looked for in the text as a reader meets it.

Works from plan.json and the names in the tables alone; nothing of the handouts is used.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import Any

from pdf_reading import flat

from roundplan.domain.training_round import TrainingRound

Json = dict[str, Any]
SLOT_ROW = re.compile(r"(?:\d\d:\d\d ){5}")


def clock(seconds: int, *, up: bool = False) -> str:
    minutes = -(-seconds // 60) if up else seconds // 60
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def long_day(iso: str) -> str:
    day = date.fromisoformat(iso)
    return f"{day:%A} {day.day} {day:%B}"


def seconds(text: str | int) -> int:
    """Return a time of plan.json in seconds after midnight."""
    if isinstance(text, int):
        return text
    parts = [int(part) for part in text.split(":")]
    return parts[0] * 3600 + parts[1] * 60 + (parts[2] if len(parts) > 2 else 0)


class Facts:
    """One plan's facts about packs."""

    def __init__(self, plan: Json, training_round: TrainingRound) -> None:
        self.plan, self.round = plan, training_round
        self.sessions = {s["code"]: s for s in plan["sessions"]}
        self.teams = {t["code"]: t for t in plan["teams"]}
        self.staff = {flat(person.name) for person in training_round.people}

    def name(self, code: str) -> str:
        return flat(self.round.name_of(code))

    def days_of(self, trainer: str) -> Iterator[tuple[Json, Json, Json]]:
        for trip in self.plan["trips"]:
            for day in trip["days"]:
                yield from ((trip, day, one) for one in day["aboard"] if one["trainer"] == trainer)

    def leg_text(self, leg: Json) -> str:
        drive = leg["drive"]
        leave = f"{clock(seconds(drive['depart']))} {self.name(drive['start'])}"
        reach = f"{clock(seconds(drive['arrive']), up=True)} {self.name(drive['end'])}"
        km = drive["km"]
        return f"{leave} {reach} {km:,.0f}" if km >= 10 else f"{leave} {reach} {round(km, 1):g}"

    def slot_texts(self, session: Json, day: str | None = None) -> Iterator[str]:
        parts = self.round.settings.session
        for slot in session["slots"]:
            if slot["kind"] == "reserve" or (day is not None and slot["date"] != day):
                continue
            start = seconds(slot["start"])
            steps = (0, parts.brief, parts.brief + parts.simulate, parts.brief + parts.simulate + parts.debrief)
            times = " ".join(clock(start + 60 * step) for step in steps)
            team = self.teams[slot["team"]] if slot["team"] else None
            who = f"{self.name(team['facility'])}, team {team['number']}" if team else "Demonstration by trainers"
            case = self.name(slot["case"]) if slot["case"] else "case as agreed"
            end = clock(seconds(slot["end"]), up=True)
            said = f"{times} {end} {who} {case}"
            if slot["wall"] is not None:
                said += f" {slot['wall']}, end {slot['wall_end']}"
            yield flat(f"{said} Station {slot['station']} {self.name(slot['director']) if slot['director'] else ''}")

    def people_of(self, session: str) -> Iterator[tuple[str, str, str | None]]:
        """Yield name, role and standby of each seat."""
        for team in self.plan["teams"]:
            if team["session"] == session:
                for seat in team["seats"]:
                    standby = self.name(seat["standby"]) if seat["standby"] else None
                    yield self.name(seat["person"]), seat["role"], standby

    def load_patterns(self, trip: Json) -> Iterator[str]:
        for load in trip["loads"]:
            number = f"{load['quantity']:,.1f}".removesuffix(".0")
            yield rf"{re.escape(self.name(load['item']))}(?: \([a-z, ]+\))? {re.escape(number)} "

    def trainer_faults(self, trainer: str, text: str) -> list[str]:
        """Return what a trainer's pack lacks or has too much of."""
        wanted = [self.name(trainer)]
        patterns: list[str] = []
        slots = 0
        days = list(self.days_of(trainer))
        for trip, day, aboard in days:
            wanted.append(long_day(day["date"]))
            if not aboard["joins_at"] and not aboard["leaves_at"]:
                wanted += [self.leg_text(leg) for leg in day["legs"]]
            if day["night"] and not aboard["leaves_at"]:
                wanted.append(f"Sleep at {self.name(day['night'])}.")
            patterns += self.load_patterns(trip)
        for code in dict.fromkeys(code for _, day, _ in days for code in day["sessions"]):
            rows = list(self.slot_texts(self.sessions[code]))
            slots += len(rows)
            wanted += rows
            for name, role, standby in self.people_of(code):
                patterns.append(rf"{re.escape(name)}[^|]{{0,120}}?{role} ?{re.escape(standby or 'nobody named')}")
        found = len(SLOT_ROW.findall(text))
        return [*self._lacking(text, wanted, patterns), *([] if found == slots else [f"{found} slots, not {slots}"])]

    def crew_faults(self, crew: str, text: str) -> list[str]:
        """Return what a crew's pack lacks, and any participant whom it names."""
        wanted: list[str] = []
        patterns: list[str] = []
        for trip in (t for t in self.plan["trips"] if t["crew"] == crew):
            for day in trip["days"]:
                wanted.append(long_day(day["date"]))
                wanted += [self.leg_text(leg) for leg in day["legs"]]
                wanted += [self.name(one["trainer"]) for one in day["aboard"]]
                wanted += [f"Sleep at {self.name(day['night'])}."] if day["night"] else []
            patterns += self.load_patterns(trip)
            wanted.append(f"Most on board at any time: {trip['weight_kg']:,.1f}".removesuffix(".0") + " kg")
        trainers = {self.name(t.code) for t in self.round.trainers}
        named = {name for name in self.staff if name in text} - trainers
        return [*self._lacking(text, wanted, patterns), *(f"names {name}" for name in sorted(named))]

    def strangers(self, trainer: str, text: str) -> list[str]:
        """Return the staff whom a trainer's pack names though they have nothing to do with the trainer's sessions."""
        codes = {code for _, day, _ in self.days_of(trainer) for code in day["sessions"]}
        near = {name for code in codes for row in self.people_of(code) for name in (row[0], row[2]) if name}
        venues = {self.sessions[code]["venue"] for code in codes}
        near |= {self.name(who) for c in self.plan["cover"] if c["facility"] in venues for _, who in named_in(c)}
        near |= {self.name(t.code) for t in self.round.trainers}
        return sorted({name for name in self.staff if name in text} - near)

    @staticmethod
    def _lacking(text: str, wanted: list[str], patterns: list[str]) -> list[str]:
        lacking = [f"lacks {part}" for part in dict.fromkeys(wanted) if part not in text]
        return lacking + [f"lacks {part}" for part in dict.fromkeys(patterns) if not re.search(part, text)]


def named_in(cover: Json) -> Iterator[tuple[str, str]]:
    """Yield role and person of each who is named as cover."""
    for entry in cover["named"]:
        yield (entry["role"], entry["person"]) if isinstance(entry, dict) else (entry[0], entry[1])
