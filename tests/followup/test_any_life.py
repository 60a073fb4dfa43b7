"""Whatever comes in whatever order: no reply is ever lost, and a confirmed seat stays unless no plan could keep it.

Tiny rounds live through random replies, facts, repairs, refusals and acceptances; each command reads everything anew
from the folder, as after a restart. That a repair is impossible is held against a search that tries every plan, with
the confirmed seats fixed. ``python tests/followup/test_any_life.py N`` runs N lives.
"""

from __future__ import annotations

import random
import re
import sys
import tempfile
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import pytest
from rounds import day, settings, staff, tiny_round
from told_rounds import slips_alone

from roundplan import workflow
from roundplan.domain.outcome import FactsRefused, ProvenImpossible
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.followup.asked import Kind
from roundplan.followup.clock import held_at
from roundplan.followup.record import opened
from roundplan.followup.standing import State
from roundplan.handouts.codec import plan_from_json
from roundplan.intake import read_round, write_round
from roundplan.replanning.situation import Situation, situation_in

TODAY = datetime(2026, 4, 20, 8, tzinfo=UTC)
STEPS = 9


@cache
def first_plan(number: int) -> tuple[Plan, TrainingRound]:
    """Return a tiny round, with plenty or few staff, and a hand planner's plan of it."""
    few, guests = (("PPAANN", 0), ("PPPAANN", 0), ("PPAANN", 1))[number]
    drawn = tiny_round(
        people=staff("ALFA", "PPPAANN") + staff("BETA", few),
        settings=settings(teams={"guests": guests}, round={"last_day": day(1)}),
    )
    bench = str(Path(__file__).parents[1] / "bench")
    if bench not in sys.path:
        sys.path.append(bench)
    from rivals.greedy import greedy_plan

    return greedy_plan(drawn, seconds=60, seed=1), drawn


class Life:
    """One round's life in a folder."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.chance = random.Random(f"life {seed}")
        self.folder, self.out = folder, folder / "OUT"
        plan, training_round = first_plan(0 if seed % 5 == 0 else 2 if seed % 5 == 4 else 1)
        write_round(training_round, folder / "tables")
        workflow.write_handouts(plan, read_round(folder / "tables"), self.out)
        workflow.announce(self.out, who="Anna")
        self.replies: set[tuple[str, ...]] = set()
        self.told: list[str] = []

    def live(self) -> None:
        steps = (self.reply, self.reply, self.reply, self.fact, self.repair, self.repair, self.withdraw)
        for _ in range(STEPS):
            self.chance.choice(steps)()
            self.nothing_lost()

    def now(self) -> Situation:
        with opened(self.out) as record:
            return situation_in(record, self.out)

    def reply(self) -> None:
        asked = [row for row in self.now().told.question.rows if row.kind is not Kind.COVER]
        row = self.chance.choice(asked)
        word = self.chance.choice(("yes", "yes", "yes", "no", "by"))
        if word == "by" and row.kind is Kind.SEAT:
            others = re.findall(r"^(\d+[A-Z]) ", (self.out / "slips" / f"{row.facility}.txt").read_text("utf-8"), re.M)
            word = f"by {self.chance.choice(others)}" if others else "no"
        text = self.folder / f"said{len(self.told)}.txt"
        text.write_text(f"{row.code} {word}".replace(" by", " no") if word == "by" else f"{row.code} {word}", "utf-8")
        self.told.append(text.read_text("utf-8"))
        workflow.take_replies(self.out, [text], who="Anna", instead=self.chance.random() < 0.3)

    def fact(self) -> None:
        now = self.now()
        people = [seat.person for team in now.told.index.plan.teams for seat in team.seats] + ["T1", "T2", "BETA-P2"]
        people += 3 * [person for _, person, _ in sorted(now.decided.confirmed)]
        first = self.chance.randint(1, 2)
        days = (f"2026-06-0{first}", f"2026-06-0{self.chance.randint(first, 2)}")
        said = self.chance.choice(
            (("absent", self.chance.choice(people), *days),) * 3 + (("closed-road", "BASE", "ALFA", *days),)
        )
        self.told.append(" ".join(said))
        workflow.take_fact(self.out, said[0], said[1:], who="Anna")

    def withdraw(self) -> None:
        facts = self.now().facts
        if facts:
            try:
                workflow.take_fact(self.out, "withdraw", [str(self.chance.choice(facts).id)], who="Anna")
            except FactsRefused:
                self.told.append("a fact rests on it")

    def repair(self) -> None:
        before = self.now()
        try:
            made = workflow.replan(self.out, who="Anna", workers=1, seconds=30)
        except ProvenImpossible:
            self.told.append("impossible")
            assert nothing_keeps_it(before.reading.training_round), self.told
            return
        if made.proposal is None:
            self.told.append("nothing to change")
            return
        self.told.append(f"proposal {made.proposal}")
        decides = self.chance.random()
        if decides < 0.6:
            done = workflow.accept(self.out, who="Anna")
            assert done is not None
            assert done.changed
            assert workflow.audit_folder(self.out) == (), self.told
            self.kept(before)
        elif decides < 0.8:
            workflow.refuse(self.out, why="not so", who="Anna")
        else:
            text = self.folder / "nothing.txt"
            text.write_text("hello", "utf-8")
            workflow.take_replies(self.out, [text], who="Anna")

    def kept(self, before: Situation) -> None:
        """What was agreed when the proposal was made is in the plan that readers are told now."""
        plan = plan_from_json((self.out / "plan.json").read_text("utf-8"))
        venues = {session.code: session.venue for session in plan.sessions}
        seats = {(s.person, s.role, venues[t.session], t.dates) for t in plan.teams for s in t.seats}
        for standing in before.standings:
            asked = standing.asked
            if asked.kind is not Kind.SEAT or standing.state not in (State.CONFIRMED, State.REPLACED):
                continue
            who = standing.substitute or asked.person
            assert (who, asked.role, asked.venue, asked.dates) in seats, self.told

    def nothing_lost(self) -> None:
        with opened(self.out) as record:
            assert record.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
            found = {tuple(row) for row in record.execute("SELECT subject, word, substitute, place FROM answers")}
        assert self.replies <= found, self.told
        self.replies = found


def nothing_keeps_it(training_round: TrainingRound) -> bool:
    """Whether no plan at all keeps every lock of a round, by trying them all."""
    from brute_force import best_plan

    return best_plan(training_round) is None


@pytest.mark.parametrize("seed", [1])
def test_no_reply_is_lost_and_what_is_confirmed_stays(seed: int, tmp_path: Path) -> None:
    with held_at(TODAY):
        Life(tmp_path, seed).live()


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))
    sys.path.insert(0, str(Path(__file__).parent))
    for number in range(int(sys.argv[1])):
        with tempfile.TemporaryDirectory() as place, held_at(TODAY), pytest.MonkeyPatch.context() as patched:
            patched.setattr("roundplan.handouts.folder.documents", slips_alone)
            life = Life(Path(place), number)
            life.live()
            print(number, len(life.replies), life.told)
