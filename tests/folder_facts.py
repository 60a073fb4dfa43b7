"""What a whole folder of documents says, read back and held against plan.json: people, days, times, quantities.

Works from plan.json, the tables' objects and the files alone; nothing of the handouts is used, and pages of PDFs are
read by another library than the one that other tests use.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from typing import Any

import gpxpy
import vobject
from folder_reading import all_text, page_text, pdf_text, sheets
from pack_facts import Facts as PackFacts
from pack_facts import clock, long_day, seconds
from pdf_reading import flat

from roundplan.domain.training_round import TrainingRound

Json = dict[str, Any]


def short_day(iso: str) -> str:
    day = date.fromisoformat(iso)
    return f"{day:%a} {day.day} {day:%b}".replace("Sep", "Sept")


def shift_said(iso: str, shift: str) -> str:
    evening, morning = short_day(iso), short_day((date.fromisoformat(iso) + timedelta(days=1)).isoformat())
    return f"{evening}, by day" if shift == "day" else f"{evening} to {morning}, by night"


def on(iso: str, time: str, *, up: bool = False) -> datetime:
    """Return a date and a time of plan.json to the minute."""
    whole = seconds(time)
    return datetime.fromisoformat(iso) + timedelta(minutes=-(-whole // 60) if up else whole // 60)


class FolderFacts:
    """One plan, and the folder of documents made from it."""

    def __init__(self, plan: Json, training_round: TrainingRound, files: Mapping[str, bytes]) -> None:
        self.plan, self.round, self.files = plan, training_round, files
        self.packs = PackFacts(plan, training_round)
        self.sessions, self.teams = self.packs.sessions, self.packs.teams
        self.pages = {path: page_text(c) for path, c in files.items() if path.endswith(".html")}
        self.scale = 10**training_round.settings.round.currency_digits

    def faults(self) -> list[str]:
        """Return each fact that a document says otherwise than the plan."""
        checks = (
            self.in_packs(), self.in_workbook(), self.in_money(), self.for_the_store(), self.on_slips(),
            self.for_facilities(), self.in_calendars(), self.on_the_road(), self.at_sessions(),
        )  # fmt: skip
        return [fault for check in checks for fault in check]

    def name(self, code: str) -> str:
        return self.round.name_of(code)

    def home(self, person: str) -> str:
        return self.round.person(person).facility

    def seats(self, facility: str | None = None) -> Iterator[tuple[Json, Json, list[Json]]]:
        """Yield team, seat and drives of whoever trains; of one facility: its teams, and its people elsewhere."""
        for team in self.plan["teams"]:
            for seat in team["seats"]:
                if facility in (None, team["facility"], self.home(seat["person"])):
                    outing = next((o for o in team["outings"] if seat["person"] in o["people"]), None)
                    yield team, seat, outing["drives"] if outing else []

    def legs(self, crew: str | None = None) -> Iterator[tuple[Json, Json]]:
        for trip in self.plan["trips"]:
            if crew in (None, trip["crew"]):
                yield from ((day, leg["drive"]) for day in trip["days"] for leg in day["legs"])

    def aboard(self) -> Iterator[tuple[Json, Json, str]]:
        for trip in self.plan["trips"]:
            for day in trip["days"]:
                yield from ((trip, day, one["trainer"]) for one in day["aboard"])

    def in_packs(self) -> Iterator[str]:
        found = {path: pdf_text(content) for path, content in self.files.items() if path.endswith(".pdf")}
        wanted = {f"trainers/{code}.pdf" for _, _, code in self.aboard()}
        wanted |= {f"crews/{trip['crew']}.pdf" for trip in self.plan["trips"]}
        yield from (f"pack missing or too many: {path}" for path in wanted ^ set(found))
        for path, text in found.items():
            code = path.split("/")[1].removesuffix(".pdf")
            if path.startswith("trainers"):
                faults = self.packs.trainer_faults(code, text) + self.packs.strangers(code, text)
            else:
                faults = self.packs.crew_faults(code, text)
            yield from (f"{path}: {fault}" for fault in faults)

    def _same(self, what: str, found: list[Any], wanted: list[Any]) -> Iterator[str]:
        for one, count in (Counter(found) - Counter(wanted)).items():
            yield f"{what} has {count} too many of {one}"
        for one, count in (Counter(wanted) - Counter(found)).items():
            yield f"{what} lacks {count} of {one}"

    def in_workbook(self) -> Iterator[str]:
        book = sheets(self.files["round.xlsx"])
        yield from self._same(
            "round.xlsx, seats",
            [(r["team"], r["role"], r["person"], r["name"], r["standby"], r["first date"]) for r in book["Seats"]],
            [(t["code"], s["role"], s["person"], self.name(s["person"]), s["standby"] or "",
              date.fromisoformat(min(t["dates"]))) for t, s, _ in self.seats()],
        )  # fmt: skip
        yield from self._same(
            "round.xlsx, slots",
            [(r["session"], r["date"], r["start"], r["end"], r["station"], r["team"], r["case"], r["wall"])
             for r in book["Slots"]],
            [(s["code"], date.fromisoformat(slot["date"]), slot["start"][:5], clock(seconds(slot["end"]), up=True),
              slot["station"], slot["team"] or "", slot["case"] or "", slot["wall"] or "")
             for s in self.plan["sessions"] for slot in s["slots"]],
        )  # fmt: skip
        yield from self._same(
            "round.xlsx, cover",
            [(r["facility"], r["date"], r["shift"], r["role"], r["person"]) for r in book["Cover"]],
            [(c["facility"], date.fromisoformat(c["date"]), c["shift"], role, who)
             for c in self.plan["cover"] for role, who in c["named"]],
        )  # fmt: skip
        journeys = [d for t in self.plan["teams"] for o in t["outings"] for d in o["drives"]]
        for sheet, drives in (("Legs", [d for _, d in self.legs()]), ("Participants' journeys", journeys)):
            yield from self._same(
                f"round.xlsx, {sheet}",
                [(r["date"], r["start"], r["end"], r["depart"], r["arrive"], round(r["km"], 1)) for r in book[sheet]],
                [(date.fromisoformat(d["date"]), d["start"], d["end"], clock(seconds(d["depart"])),
                  clock(seconds(d["arrive"]), up=True), round(d["km"], 1)) for d in drives],
            )  # fmt: skip
        yield from self._same(
            "round.xlsx, trainers' days",
            [(r["trainer"], r["date"], r["trip"]) for r in book["Trainers' days"]],
            [(code, date.fromisoformat(day["date"]), trip["code"]) for trip, day, code in self.aboard()],
        )

    def in_money(self) -> Iterator[str]:
        rows = sheets(self.files["round.xlsx"])["Costs"]
        yield from self._same(
            "round.xlsx, costs",
            [(r["line"], r["session"], r["trip"], round(r["quantity"], 3), round(r["amount"] * self.scale))
             for r in rows],
            [(c["line"], c["session"] or "", c["trip"] or "", round(c["quantity"], 3), c["amount"])
             for c in self.plan["costs"]],
        )  # fmt: skip
        lines = [c for c in self.plan["costs"] if c["session"] and c["line"].startswith("participant")]
        for session in self.sessions:
            text, due = self.pages[f"sessions/{session}-payments.html"], [c for c in lines if c["session"] == session]
            sums = [said.split()[-1] for said in re.findall(r"Sum as planned[^\d]*([\d, .]+)", text)]
            sums += re.findall(r"\d+ [\d,.]+ km ([\d,.]+)", text.partition("Payments for transport")[2])
            paid = sum(round(float(said.replace(",", "")) * self.scale) for said in sums)
            if due and paid != sum(c["amount"] for c in due):
                yield f"payments of {session}: {paid}, not {sum(c['amount'] for c in due)}"

    def for_the_store(self) -> Iterator[str]:
        book = sheets(self.files["supplies.xlsx"])
        yield from self._same(
            "supplies.xlsx, pick list",
            [(r["trip"], r["item"], r["on date"], r["quantity"]) for r in book["Pick list"]],
            [(t["code"], load["item"], date.fromisoformat(load["date"]), load["quantity"])
             for t in self.plan["trips"] for load in t["loads"]],
        )  # fmt: skip
        bought = sum(c["amount"] for c in self.plan["costs"] if c["line"] == "consumables")
        kinds = {item.code: item.kind.value for item in self.round.items}
        rows = [r for r in book.get("Order list", []) if kinds[r["item"]] == "consumable"]
        cost = next((key for row in rows for key in row if key.startswith("cost in")), "")
        ordered = sum(round(row[cost] * self.scale) for row in rows)
        if ordered != bought:
            yield f"orders come to {ordered}, not {bought}"

    def facility_cover(self, facility: str) -> list[tuple[str, str, str, str]]:
        return [(c["date"], c["shift"], role, who) for c in self.plan["cover"] if c["facility"] == facility
                for role, who in c["named"]]  # fmt: skip

    def on_slips(self) -> Iterator[str]:
        for facility in self.round.facilities:
            path = f"slips/{facility.code}.xlsx"
            seats, cover = list(self.seats(facility.code)), self.facility_cover(facility.code)
            if path not in self.files:
                yield from [f"{path} is missing"] if seats or cover else []
                continue
            book = sheets(self.files[path], head="Role")
            found = [tuple(r[k] for k in ("team code", "person code", "Role", "Venue", "Leaves", "Is back"))
                     for r in book["Who goes"]]  # fmt: skip
            wanted = []
            for team, seat, drives in seats:
                ends = ("no journey", "no journey")
                if drives:
                    out, back = drives[0], drives[-1]
                    ends = (f"{short_day(out['date'])} {clock(seconds(out['depart']))}",
                            f"{short_day(back['date'])} {clock(seconds(back['arrive']), up=True)}")  # fmt: skip
                venue = self.name(self.sessions[team["session"]]["venue"])
                wanted.append((team["code"], seat["person"], seat["role"], venue, *ends))
            yield from self._same(path, [tuple(flat(part) for part in row) for row in found], wanted)
            keys = ("dates code", "shift code", "Role", "person code")
            yield from self._same(path, [tuple(r[k] for k in keys) for r in book.get("Who stays", [])], cover)

    def for_facilities(self) -> Iterator[str]:
        """Look at each facility's pages: who goes, when the own people leave and are back, who stays."""
        for facility in self.round.facilities:
            paths = [path for path in (f"facilities/{facility.code}.html", f"letters/{facility.code}.html",
                                     f"slips/{facility.code}.html") if path in self.pages]  # fmt: skip
            for path in paths:
                text = self.pages[path]
                for team, seat, drives in self.seats(facility.code):
                    own = self.home(seat["person"]) == facility.code
                    if not own and path.startswith("letters/"):
                        continue
                    parts = [self.name(seat["person"])]
                    if own and drives:
                        parts += [clock(seconds(drives[0]["depart"])), clock(seconds(drives[-1]["arrive"]), up=True)]
                    if not any(said(team["dates"][0]) in text for said in (short_day, long_day)):
                        parts.append(team["dates"][0])
                    yield from (f"{path} lacks {part} of {seat['person']}" for part in parts if part not in text)
                for day, shift, role, who in self.facility_cover(facility.code):
                    said = f"{self.name(who)} ({role})" in text
                    if path.startswith("facilities/"):  # a column a role
                        _, _, after = text.rpartition("Who stays Shift")
                        rows = after.split(shift_said(day, shift))[1:]
                        said = any(self.name(who) in re.split(r", by (?:day|night)", row)[0] for row in rows)
                    if not said:
                        yield f"{path} lacks {who} who stays as {role} on {day}"

    def in_calendars(self) -> Iterator[str]:
        travel, hours = self.round.settings.travel, self.round.settings.cover
        for code in {code for _, _, code in self.aboard()}:
            wanted = []
            for _, day, trainer in self.aboard():
                for session in (self.sessions[s] for s in day["sessions"] if trainer == code):
                    (today,) = (d for d in session["days"] if d["date"] == day["date"])
                    first, last = session["days"][0] is today, session["days"][-1] is today
                    start, end = on(day["date"], today["start"]), on(day["date"], today["end"], up=True)
                    before, after = timedelta(minutes=travel.set_up * first), timedelta(minutes=travel.pack_up * last)
                    wanted.append((start - before, end + after))
            path = f"trainers/{code}.ics"
            yield from self._same(path, self._entries(path, "Session at"), wanted)
        for facility in self.round.facilities:
            path = f"facilities/{facility.code}.ics"
            teams = {t["code"]: t for t, _, _ in self.seats(facility.code)}.values()
            cover = {(c["date"], c["shift"]) for c in self.plan["cover"] if c["facility"] == facility.code}
            if path not in self.files:
                yield from [f"{path} is missing"] if teams or cover else []
                continue
            drives = [d for t in teams for o in t["outings"] if o["facility"] == facility.code for d in o["drives"]]
            days = [d for t in teams for d in self.sessions[t["session"]]["days"] if d["date"] in t["dates"]]
            yield from self._same(
                f"{path}, journeys", self._entries(path, "Journey from"),
                [(on(d["date"], d["depart"]), on(d["date"], d["arrive"], up=True)) for d in drives],
            )  # fmt: skip
            yield from self._same(
                f"{path}, training", self._entries(path, "Team ", "Guest in a team"),
                [(on(d["date"], d["start"]), on(d["date"], d["end"], up=True)) for d in days],
            )  # fmt: skip
            starts = {"day": hours.day_from, "night": hours.night_from}
            yield from self._same(
                f"{path}, shifts", [start for start, _ in self._entries(path, "Who stays")],
                [datetime.fromisoformat(day) + timedelta(seconds=starts[shift]) for day, shift in cover],
            )  # fmt: skip

    def _entries(self, path: str, *starts: str) -> list[tuple[datetime, datetime]]:
        events = vobject.readOne(self.files[path].decode()).contents.get("vevent", [])
        return [(e.dtstart.value.replace(tzinfo=None), e.dtend.value.replace(tzinfo=None)) for e in events
                if str(e.summary.value).removeprefix("Draft: ").startswith(starts)]  # fmt: skip

    def on_the_road(self) -> Iterator[str]:
        for crew in {trip["crew"] for trip in self.plan["trips"]}:
            drives = [drive for _, drive in self.legs(crew)]
            routes = gpxpy.parse(self.files[f"crews/{crew}.gpx"].decode()).routes
            ends = [(r.points[0].name, r.points[-1].name) for r in routes]
            yield from self._same(f"{crew}.gpx", ends, [(self.name(d["start"]), self.name(d["end"])) for d in drives])
            listed, page = flat(self.files[f"crews/{crew}.txt"].decode()), self.pages[f"crews/{crew}.html"]
            for drive in drives:
                leave, reach = clock(seconds(drive["depart"])), clock(seconds(drive["arrive"]), up=True)
                if f"{leave} leave {self.name(drive['start'])}, {reach} reach" not in listed:
                    yield f"{crew}.txt lacks {leave} {drive['start']} {reach}"
                yield from (f"{crew}.html lacks {part}" for part in (leave, reach) if part not in page)
        for trip, day, code in self.aboard():
            page = self.pages[f"trainers/{code}.html"]
            wanted = [long_day(day["date"])]
            for session in (self.sessions[s] for s in day["sessions"]):
                wanted += [self.name(session["venue"])]
                for slot in session["slots"]:
                    wanted += [f"{slot['start'][:5]}–{clock(seconds(slot['end']), up=True)}"]
            yield from (f"{code}.html, {trip['code']}, lacks {part}" for part in wanted if part not in page)

    def at_sessions(self) -> Iterator[str]:
        for code, session in self.sessions.items():
            register, watch = (self.pages[f"sessions/{code}-{kind}.html"] for kind in ("attendance", "observers"))
            for team in (t for t in self.plan["teams"] if t["session"] == code):
                team_said = re.escape(f"{self.name(team['facility'])}, team {team['number']}")
                for seat in team["seats"]:
                    row = rf"{re.escape(self.name(seat['person']))}.{{0,60}}?{seat['role']}.{{0,60}}?{team_said}"
                    if not re.search(row, register):
                        yield f"register of {code} lacks {row}"
            for slot in (slot for slot in session["slots"] if slot["team"]):
                missing = [who for who in slot["observers"] if self.name(who) not in watch]
                yield from (f"observers' sheet of {code} lacks {who}" for who in missing)

    def indiscretions(self, phones: Mapping[str, str]) -> list[str]:
        """Return whoever is named, and each telephone that stands, where its reader has no need of it.

        Parameters
        ----------
        phones : mapping of str to str
            The telephone of everybody and every site, by code.
        """
        guests = {s["person"]: t["facility"] for t in self.plan["teams"] for s in t["seats"] if s["guest"]}
        lent = {(row.person, row.facility) for row in self.round.relief}
        found = []
        for path, content in self.files.items():
            text, readers = all_text(path, content), self._readers(path)
            allowed = {"manager", *readers} if path.startswith("districts/") else {"manager"}
            if path.startswith("facilities/"):
                allowed |= {self.round.facility(code).district for code in readers}
            if path.startswith(("trainers/", "crews/")):
                code = path.split("/")[1].partition(".")[0]
                days = [d for trip, d, who in self.aboard() if code in (who, trip["crew"])]
                allowed |= {self.sessions[session]["venue"] for day in days for session in day["sessions"]}
            found += [
                f"{path} tells the phone of {who}"
                for who, phone in phones.items()
                if phone in text and who not in allowed
            ]
            for person in self.round.people if readers else ():
                known = person.facility in readers or guests.get(person.code) in readers
                if not known and person.name in text and not {(person.code, code) for code in readers} & lent:
                    found.append(f"{path} names {person.code}")
        return found

    def _readers(self, path: str) -> set[str]:
        """Return the facilities that a document is for; none where it is for other readers."""
        folder, _, name = path.partition("/")
        code = name.partition(".")[0]
        if folder in ("facilities", "letters", "slips"):
            return {code}
        return {f.code for f in self.round.facilities if f.district == code} if folder == "districts" else set()
