"""Rounds of any size, invented from a seed: the same seed, the same round, on every machine.

``generate(60, 40, 5, seed=1)`` makes a round of 60 facilities, 40 weekdays and 5 crews; ``write_tables`` writes it as
a folder that ``roundplan check`` and ``roundplan plan`` read. Default rules, guests on. People, places, roads and
prices are invented; supplies and cases are those of ``inputs_demo``.
"""

from __future__ import annotations

import argparse
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from random import Random

from bench_common import ROOT
from gen_crews import make_fleet
from gen_names import place_names
from gen_roads import make_land
from gen_sites import make_facilities, make_places
from gen_staff import make_leave, make_ledger, make_people, make_roster

from roundplan.domain.dates import DaySet
from roundplan.domain.person import Person
from roundplan.domain.settings import PriceSettings, RoundSettings, Settings
from roundplan.domain.supply import Case, Item
from roundplan.domain.training_round import TrainingRound

FIRST_DAY = date(2027, 5, 10)
"""A Monday; the rains end with its week."""
SCARCE_SHARE = 0.7
"""In a crew-scarce round crews have time for this share of the teams wanted, roads left out; see README.md."""


def generate(facilities: int, days: int, crews: int, *, seed: int, crews_scarce: bool = False) -> TrainingRound:
    """Return an invented round.

    Parameters
    ----------
    facilities, crews : int
        How many.
    days : int
        Weekdays from the first to the last date of the round.
    seed : int
        Same seed and sizes, same round.
    crews_scarce : bool
        Whether crews have one box model, some two, and are to be had for a stretch of the round only, so that they
        reach 50 to 80 % of what unlimited crews would reach.
    """
    rng = Random(f"{seed}/{facilities}/{days}")
    dates = tuple(d for d in _dates(FIRST_DAY, 7 * -(-days // 5)) if d.weekday() < 5)[:days]
    span = (dates[-1] - dates[0]).days + 1
    land = make_land(facilities, FIRST_DAY, span, rng)
    names = place_names(rng)
    towns = [next(names) for _ in land.hospitals]
    made = make_facilities(land, towns, names, dates, rng)
    people: dict[str, tuple[Person, ...]] = {}
    for facility, size in made:
        people[facility.code] = make_people(facility.code, size, facility.languages, rng)
    leave = {code: make_leave(staff, FIRST_DAY, span, rng) for code, staff in people.items()}
    rostered = sorted(rng.sample([f.code for f, _ in made], round(len(made) / 3)))
    trained = sorted(rng.sample([f.code for f, _ in made], round(len(made) / 4)))
    items, cases = _kit()
    wanted = sum(facility.teams_wanted for facility, _ in made)
    teams = round(SCARCE_SHARE * wanted) if crews_scarce else None
    fleet = make_fleet(land, people, items, crews, dates, teams, Random(f"{seed}/{facilities}/{days}/crews"))
    return TrainingRound(
        settings=_settings(facilities, dates, seed),
        facilities=tuple(facility for facility, _ in made),
        people=tuple(person for staff in people.values() for person in staff),
        duties=tuple(duty for code in rostered for duty in make_roster(people[code], leave[code], FIRST_DAY, span)),
        absences=tuple(absence for rows in leave.values() for absence in rows),
        trainers=fleet.trainers,
        places=(*fleet.bases, *make_places(land, towns, dates, rng)),
        crews=fleet.crews,
        roads=land.roads(),
        items=items,
        stock=fleet.stock,
        cases=cases,
        ledger=tuple(entry for code in trained for entry in make_ledger(people[code], FIRST_DAY, rng)),
    )


def write_tables(training_round: TrainingRound, folder: Path) -> None:
    """Write a round as tables and round.toml."""
    from roundplan.intake import write_round

    write_round(training_round, folder)


def _dates(first: date, count: int) -> tuple[date, ...]:
    return tuple(first + timedelta(days=k) for k in range(count))


@cache
def _kit() -> tuple[tuple[Item, ...], tuple[Case, ...]]:
    """Return supplies and cases of the demo round."""
    from roundplan.intake import read_round

    demo = read_round(ROOT / "inputs_demo").training_round
    return demo.items, demo.cases


def _settings(facilities: int, dates: tuple[date, ...], seed: int) -> Settings:
    return Settings(
        round=RoundSettings(
            name=f"Invented round {seed}: {facilities} facilities, {len(dates)} days",
            first_day=dates[0],
            last_day=dates[-1],
            plan_date=FIRST_DAY - timedelta(days=63),
            announce_on=FIRST_DAY - timedelta(days=49),
            time_zone="Africa/Blantyre",
            closed_days=DaySet(dates=frozenset({dates[len(dates) // 2 + 1]})),
            currency="MWK",
            language="en",
            wet_from=date(2026, 11, 20),
            wet_to=FIRST_DAY + timedelta(days=6),
        ),
        prices=PriceSettings(
            participant_day=1_500_000,
            participant_night=4_500_000,
            trainer_day=3_500_000,
            trainer_night=6_000_000,
            driver_day=1_500_000,
            driver_night=4_000_000,
            fare_per_km=18_000,
            lunch=650_000,
            venue_day=4_000_000,
            lodging=3_800_000,
            printing=120_000,
            contingency_percent=5.0,
        ),
    )


def main() -> None:
    """Write one round as tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("folder", type=Path, help="where to write the tables")
    parser.add_argument("--facilities", type=int, default=12)
    parser.add_argument("--days", type=int, default=20, help="weekdays")
    parser.add_argument("--crews", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--scarce", action="store_true", help="crews are to be had for a stretch of the round only")
    given = parser.parse_args()
    made = generate(given.facilities, given.days, given.crews, seed=given.seed, crews_scarce=given.scarce)
    write_tables(made, given.folder)
    print(f"{given.folder}: {len(made.facilities)} facilities, {len(made.people)} staff")


if __name__ == "__main__":
    main()
