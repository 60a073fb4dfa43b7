"""How long a hundred trainer packs take, from the plan to the bytes of the PDFs.

The plan is a hand planner's (``rivals/greedy.py``) for an invented round large enough to have as many trainers. Packs
are worded and printed side by side, crew after crew, as for the folder of outputs (``handouts/folder.py``).
"""

from __future__ import annotations

import argparse
import io
import resource
import time

from bench_common import machine, table
from generator import generate
from pypdf import PdfReader
from rivals.greedy import greedy_plan

from roundplan.draft import completed
from roundplan.handouts.packs.binder import Binder
from roundplan.handouts.packs.trainer_pack import trainer_pack
from roundplan.handouts.pdf.blocks import Sheet
from roundplan.handouts.pdf.press import composed, press_later
from roundplan.handouts.plan_index import PlanIndex


def main() -> None:
    """Make the round, plan it by hand, print the packs and say how long that took."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--facilities", type=int, default=200)
    parser.add_argument("--days", type=int, default=20, help="weekdays of the round")
    parser.add_argument("--crews", type=int, default=21)
    parser.add_argument("--packs", type=int, default=100)
    given = parser.parse_args()
    made = generate(given.facilities, given.days, given.crews, seed=1)
    plan = completed(greedy_plan(made, seconds=300, seed=1), made)
    index = PlanIndex(plan, made)
    first = {code: next(trip.code for trip, _, _ in index.days_aboard(code)) for code in index.trainers_used()}
    wall, cpu = time.monotonic(), time.process_time()
    binder = Binder(index)
    packs, printing = [], []
    for code in sorted(index.trainers_used()[: given.packs], key=first.__getitem__):
        packs.append(trainer_pack(binder, code, f"trainers/{code}.pdf"))
        printing.append(press_later(composed(packs[-1])[0]))
    worded = time.monotonic() - wall
    contents = [one.result() for one in printing]
    wall, cpu = time.monotonic() - wall, time.process_time() - cpu
    pages = sum(len(PdfReader(io.BytesIO(content)).pages) for content in contents)
    sheets = sum(isinstance(block, Sheet) for pack in packs for block in pack.blocks)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    rows = [
        ["packs / pages / slot sheets", f"{len(packs)} / {pages} / {sheets}"],
        ["sessions of the plan", str(len(plan.sessions))],
        ["all packs, s on the clock", f"{wall:.1f}"],
        ["until the last is worded, s", f"{worded:.1f}"],
        ["all packs, s of processor time", f"{cpu:.1f}"],
        ["size of all packs, MB", f"{sum(map(len, contents)) / 1e6:.1f}"],
        ["peak memory, MB", f"{memory:.0f}"],
    ]
    print(f"{machine()}\n")
    print(table(["", "value"], rows))


if __name__ == "__main__":
    main()
