"""What the report, the summary, the map and the labels say, read back and held against plan.json.

Everything here is counted anew from the JSON of the plan and the inputs' objects, with nothing of the handouts' code.
"""

from __future__ import annotations

import json
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any

import html5lib

from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts import maps, report
from roundplan.handouts.codec import plan_to_json
from roundplan.handouts.report import summary
from roundplan.handouts.store import labels

Rows = list[list[str]]
MINIMUM = ("surgical provider", "surgical assistant", "anaesthetist")


def parsed(page: str) -> Any:
    """Return a page's tree; raise what an HTML5 parser in its strict mode finds wrong."""
    return html5lib.HTMLParser(tree=html5lib.getTreeBuilder("etree"), strict=True, namespaceHTMLElements=False).parse(
        page
    )


def text_of(element: Any) -> str:
    return " ".join("".join(element.itertext()).replace("\N{WORD JOINER}", "").split())


def lines_of(cell: Any) -> str:
    parts = [text_of(part) for part in cell.iter("span") if "data-line" in part.attrib]
    return " / ".join(parts) if parts else text_of(cell)


def tables(tree: Any) -> dict[str, Rows]:
    """Return the rows of each table by its caption."""
    found = {}
    for table in tree.iter("table"):
        rows = [[lines_of(cell) for cell in row if cell.tag in ("td", "th")] for row in table.find("tbody").iter("tr")]
        found[text_of(table.find("caption"))] = rows
    return found


def starting(found: dict[str, Rows], start: str) -> Rows:
    return next(rows for caption, rows in found.items() if caption.startswith(start))


def figure(text: str) -> float:
    return float(text.replace(",", ""))


def day_of(text: str) -> date:
    """Read ``Tue 2 Mar 2027``."""
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Sept", "Oct", "Nov", "Dec")
    _, day, month, year = text.split()
    number = months.index(month) + 1
    return date(int(year), number - (number > 9), int(day))


class Facts:
    """A plan as other programs read it, and the pages made from it."""

    def __init__(self, plan: Plan, training_round: TrainingRound, files: Mapping[str, bytes] | None = None) -> None:
        """Read the pages of a folder, or make them."""
        made = files or {
            "report.html": report.render(plan, training_round).encode(),
            "map.html": maps.render(plan, training_round).encode(),
            "summary.html": summary.render(plan, training_round).encode(),
            "labels.html": labels.render(plan, training_round).encode(),
        }
        self.plan: dict[str, Any] = json.loads(plan_to_json(plan))
        self.round = training_round
        self.report = parsed(made["report.html"].decode())
        self.tables = tables(self.report)
        self.text = text_of(self.report)
        self.map = made["map.html"].decode()
        self.summary = parsed(made["summary.html"].decode())
        self.labels = parsed(made["labels.html"].decode())
        self.sessions = {session["code"]: session for session in self.plan["sessions"]}

    def faults(self) -> list[str]:
        """Return each fact that a page says otherwise than the plan."""
        checks = (
            self.coverage(), self.refreshers(), self.timeline(), self.trainers(), self.costs(), self.supplies(),
            self.to_do(), self.left_out(), self.scores(), self.cover(), self.risks(), self.on_the_map(),
            self.in_summary(), self.on_labels(),
        )  # fmt: skip
        return [fault for check in checks for fault in check]

    def district(self, facility: str) -> str:
        return self.round.facility(facility).district

    def coverage(self) -> Iterator[str]:
        rows = {row[0]: row[1:] for row in starting(self.tables, "Facilities, teams and seats")}
        for district, row in rows.items():
            teams = [t for t in self.plan["teams"] if district in (self.district(t["facility"]), "All districts")]
            seats = [
                seat["role"]
                for team in self.plan["teams"]
                for seat in team["seats"]
                if district in (self.district(self.round.person(seat["person"]).facility), "All districts")
            ]
            counted = Counter(seats)
            roles = [counted[role] for role in (*MINIMUM, "scrub", "circulating", "newborn care")]
            wanted = [str(len(teams)), *map(str, roles), str(len(seats))]
            if row[1:] != wanted:
                yield f"coverage of {district}: {row[1:]} for {wanted}"
            if row[0].split(" of ")[0] != str(len({team["facility"] for team in teams})):
                yield f"facilities of {district}: {row[0]}"

    def refreshers(self) -> Iterator[str]:
        rows = starting(self.tables, "People by main role")
        seated = {seat["person"] for team in self.plan["teams"] for seat in team["seats"]}
        for name, role, *numbers in rows[:-1]:
            people = [
                person
                for person in self.round.people
                if person.roles[0].value == role and name in (self.district(person.facility), "All districts")
            ]
            known = {p.code for p in people if self.round.last_trained(p.code) is not None}
            wanted = [len(people), sum(p.code in seated for p in people),
                      sum(p.code not in seated | known for p in people)]  # fmt: skip
            found = [int(figure(numbers[place])) for place in (0, 2, 5)]
            if found != wanted or int(figure(numbers[0])) != sum(int(figure(n)) for n in numbers[2:]):
                yield f"refreshers of {name}, {role}: {numbers} for {wanted}"
        if int(figure(rows[-1][4])) != len(seated):
            yield f"people trained: {rows[-1]}"

    def timeline(self) -> Iterator[str]:
        rows = self.tables.get("Sessions by date", [])
        found = sorted((row[1], re.sub(r" and |, ", " ", row[2]), *re.findall(r"\b(T\d+):", row[3])) for row in rows)
        wanted = []
        for session in self.plan["sessions"]:
            for day in session["days"]:
                teams = sorted(
                    (team["station"], team["code"])
                    for team in self.plan["teams"]
                    if team["session"] == session["code"] and day["date"] in team["dates"]
                )
                venue = self.round.name_of(session["venue"])
                wanted.append((venue, " ".join(session["crews"]), *(code for _, code in teams)))
        if found != sorted(wanted):
            yield f"timeline: {found} for {sorted(wanted)}"

    def trainers(self) -> Iterator[str]:
        for trainer, (name, *row) in zip(self.round.trainers, self.tables["Load of each trainer"], strict=True):
            days = [day for trip in self.plan["trips"] for day in trip["days"]
                    if trainer.code in [aboard["trainer"] for aboard in day["aboard"]]]  # fmt: skip
            held = {code for day in days for code in day["sessions"]}
            directed = sum(
                station["director"] == trainer.code for code in held for station in self.sessions[code]["stations"]
            )
            teaching = sum(bool(day["sessions"]) for day in days)
            wanted = [teaching, len(days) - teaching, len(held), directed]
            if name != trainer.name or [int(number) for number in row[:4]] != wanted:
                yield f"load of {name}: {row} for {wanted}"
            if int(row[4]) > len(days):
                yield f"nights of {name}: {row[4]}"

    def costs(self) -> Iterator[str]:
        scale = 10**self.round.settings.round.currency_digits
        spent: dict[str, float] = defaultdict(float)
        for entry in self.plan["costs"]:
            spent[entry["line"]] += entry["amount"] / scale
        rows = starting(self.tables, "Amounts in")
        for line, planned, budget, left in rows[:-1]:
            if abs(figure(planned) - spent[line.lower()]) > 0.005:
                yield f"cost of {line}: {planned} for {spent[line.lower()]}"
            set_aside = [row.amount / scale for row in self.round.budget if row.line.value == line.lower()]
            if set_aside and (figure(budget), figure(left.split()[0])) != (
                set_aside[0], round(abs(set_aside[0] - spent[line.lower()]), 2),
            ):  # fmt: skip
                yield f"budget of {line}: {budget}, {left}"
        if abs(figure(rows[-1][1]) - sum(spent.values())) > 0.005:
            yield f"total cost: {rows[-1]}"

    def supplies(self) -> Iterator[str]:
        walls = {(s["code"], slot["station"], slot["wall"]) for s in self.plan["sessions"] for slot in s["slots"]
                 if slot.get("wall") is not None}  # fmt: skip
        found = sum(int(row[2]) for row in self.tables.get("Walls to assemble before each trip", []))
        if found != len(walls):
            yield f"walls: {found} for {len(walls)}"
        scale = 10**self.round.settings.round.currency_digits
        bought = sum(entry["amount"] for entry in self.plan["costs"] if entry["line"] == "consumables") / scale
        kinds = {item.name: item.kind.value for item in self.round.items}
        rows = self.tables.get("What to order, the most urgent first", [])
        ordered = sum(figure(row[4]) for row in rows if kinds[row[0]] == "consumable")
        if abs(ordered - bought) > 0.005:
            yield f"consumables ordered: {ordered} for {bought}"

    def to_do(self) -> Iterator[str]:
        rows = [(day_of(day), tasks.split(" / ")) for day, tasks in self.tables["What to do, at the latest on"]]
        if [day for day, _ in rows] != sorted(day for day, _ in rows):
            yield "to-do dates are out of order"
        said = [(day, task) for day, tasks in rows for task in tasks]
        for session in self.plan["sessions"]:
            first, venue = date.fromisoformat(session["days"][0]["date"]), self.round.name_of(session["venue"])
            when = f"{venue}, {first:%A} {first.day}"
            for start, days in (
                ("Letters are out", 14),
                ("Seats and standbys", 7),
                ("Call all", 2),
                ("Cover and go", 1),
            ):
                due = [day for day, task in said if task.startswith(start) and when in task]
                if not any(day <= first - timedelta(days=days) for day in due):
                    yield f"{start} of {when}: {due}"

    def left_out(self) -> Iterator[str]:
        made = Counter(team["facility"] for team in self.plan["teams"])
        wanted = {f.name for f in self.round.facilities if made[f.code] < f.teams_wanted}
        rows = starting(self.tables, "Who is not trained") if wanted else []
        found = {row[0] for row in rows if row[1].startswith("no team")}
        if found != wanted:
            yield f"not trained: {found} for {wanted}"

    def scores(self) -> Iterator[str]:
        said = [text_of(p) for p in self.report.iter("p") if "figure" in (p.get("class") or "")]
        scale = 10**self.round.settings.round.currency_digits
        for tier, words in zip(self.plan["tiers"], said, strict=True):
            value = figure(re.findall(r"[\d,]+(?:\.\d+)?", words)[0])
            expected = tier["value"] / scale if tier["aim"] == "cost" else tier["value"]
            if abs(value - expected) > 0.5:
                yield f"tier {tier['aim']}: {words}"
            if (tier["bound"] is None) != ("no bound" in words):
                yield f"bound of {tier['aim']}: {words}"

    def cover(self) -> Iterator[str]:
        for cover in self.plan["cover"]:
            for role, person in cover["named"]:
                words = f"{self.round.name_of(person)} ({role})"
                if words not in self.text:
                    yield f"cover not named: {words}"

    def risks(self) -> Iterator[str]:
        alone = [
            (f"{self.round.name_of(team['facility'])}, team {team['number']}", seat["role"])
            for team in self.plan["teams"]
            for seat in team["seats"]
            if seat["role"] in MINIMUM and not seat.get("standby")
        ]
        rows = next((rows for caption, rows in self.tables.items() if caption.startswith("Seats without which")), [])
        if sorted((row[0], row[2]) for row in rows) != sorted(alone):
            yield f"teams that rest on one person: {rows} for {alone}"
        provisional = Counter(
            self.round.name_of(self.round.person(seat["person"]).facility)
            for team in self.plan["teams"]
            for seat in team["seats"]
            if seat.get("provisional")
        )
        rows = self.tables.get("Seats that wait for a roster", [])
        if {row[0]: int(row[1]) for row in rows} != provisional:
            yield f"provisional seats: {rows} for {provisional}"

    def on_the_map(self) -> Iterator[str]:
        drives = [leg["drive"] for trip in self.plan["trips"] for day in trip["days"] for leg in day["legs"]]
        drives += [drive for team in self.plan["teams"] for outing in team["outings"] for drive in outing["drives"]]
        tree = parsed(self.map)
        found = [row for caption, rows in tables(tree).items() if caption.startswith("Drives of") for row in rows]
        wanted = sorted(
            (f"{self.round.name_of(d['start'])} to {self.round.name_of(d['end'])}", d["depart"][:5]) for d in drives
        )
        if sorted((row[1], row[2]) for row in found) != wanted:
            yield f"drives on the map: {found}"
        states = {row[0]: row[1] for row in tables(tree)["All marks of the map"]}
        made = Counter(team["facility"] for team in self.plan["teams"])
        for facility in self.round.facilities:
            state = states[facility.name]
            if (state == "no team") != (not made[facility.code] and facility.teams_wanted > 0):
                yield f"state of {facility.name}: {state}"

    def in_summary(self) -> Iterator[str]:
        said = text_of(self.summary)
        people = {seat["person"] for team in self.plan["teams"] for seat in team["seats"]}
        for words in (f"{len(people)} people train", f"{len(self.plan['teams'])} teams train"):
            if words not in said:
                yield f"summary lacks {words}"
        total = tables(self.summary)["Reach by district"][-1]
        if (int(total[2]), int(total[3])) != (len(self.plan["teams"]), len(people)):
            yield f"summary's table: {total}"
        named = [p.name for p in (*self.round.people, *self.round.trainers) if p.name in said]
        if named:
            yield f"summary names {named[:3]}"

    def on_labels(self) -> Iterator[str]:
        found = sum(item.get("class") is None for item in self.labels.iter("li"))
        wanted = sum(trip["box_models"] + 1 + len(trip["loads"]) for trip in self.plan["trips"])
        marked = text_of(self.labels).count("TRAINING ONLY – NOT FOR PATIENTS")
        if not found == wanted == marked:
            yield f"labels: {found}, marked {marked}, for {wanted}"
