"""Packs of a round invented from a seed say what the plan says: two stations, many teams, nights out, long names."""

from __future__ import annotations

import json

from generator import generate
from pack_facts import Facts
from pdf_reading import pages, whole, words_outside
from rivals.greedy import greedy_plan

from roundplan.draft import completed
from roundplan.handouts.codec import plan_to_json
from roundplan.handouts.packs.binder import Binder
from roundplan.handouts.packs.crew_pack import crew_pack
from roundplan.handouts.packs.trainer_pack import trainer_pack
from roundplan.handouts.pdf.press import print_pdf
from roundplan.handouts.plan_index import PlanIndex


def test_packs_say_what_the_plan_says() -> None:
    made = generate(12, 10, 2, seed=1)
    plan = completed(greedy_plan(made, seconds=60, seed=1), made)
    facts = Facts(json.loads(plan_to_json(plan)), made)
    index = PlanIndex(plan, made)
    binder = Binder(index)
    trainers = index.trainers_used()
    assert len(trainers) >= 7
    for code in trainers[1::3]:
        content, missing = print_pdf(trainer_pack(binder, code, code))
        text = whole(content)
        assert missing == ()
        assert facts.trainer_faults(code, text) == []
        assert facts.strangers(code, text) == []
        assert words_outside(content) == []
        heads = [page for page in pages(content) if "Who may stop, and how" in page]
        assert heads
        assert all("Closing, sharps counted in" in page for page in heads), "a slot sheet runs over its page"
    for code in index.crews_used():
        content, _ = print_pdf(crew_pack(binder, code, code))
        assert facts.crew_faults(code, whole(content)) == []
        assert words_outside(content) == []
