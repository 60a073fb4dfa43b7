"""Any round written as tables reads as the same round again."""

from __future__ import annotations

import csv
import tempfile
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from intake_small_inputs import TODAY, spoilt, tables, write

from roundplan.domain.crew import Crew
from roundplan.domain.dates import DaySet
from roundplan.domain.decision import BudgetLine, CostLine, Do, Lock, LockKind
from roundplan.domain.facility import Facility
from roundplan.domain.person import Absence, Duty, LedgerEntry, Person, Relief
from roundplan.domain.place import Place, Road
from roundplan.domain.role import (
    MINIMUM_ROLES,
    DutyKind,
    Include,
    Lead,
    OnSiteCover,
    PlaceKind,
    Role,
    SessionRoom,
    Surface,
    Transport,
)
from roundplan.domain.settings import (
    AimSettings,
    CoverSettings,
    PriceSettings,
    RoundSettings,
    SessionSettings,
    Settings,
    TeamSettings,
    TravelSettings,
)
from roundplan.domain.supply import Case, Item, ItemKind, Per, Stock
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound
from roundplan.intake import read_round, round_to_tables, snapshot, write_round
from roundplan.intake.cleaning import clean, forbidden_character, guard, unguard
from roundplan.intake.columns import BY_NAME
from roundplan.intake.csv_out import csv_text

DAY = st.dates(date(2027, 2, 1), date(2027, 2, 12))
LETTERS = st.text(min_size=1, max_size=12) | st.text("=+-@'\t\"; ,/éñ<&", min_size=1, max_size=8)
TEXT = LETTERS.map(clean).filter(lambda t: t and forbidden_character(t) is None and "\ufffd" not in t)
NOTE = st.just("") | TEXT
MONEY = st.integers(0, 10**9)
COUNT = st.integers(0, 40)
SHARE = st.floats(0, 1, exclude_max=True)
REAL = st.floats(0.01, 1000, allow_nan=False)
ROLES = st.lists(st.sampled_from(list(Role)), max_size=4).map(tuple)
OWN_ROLES = st.lists(st.sampled_from(list(Role)), min_size=1, max_size=3, unique=True).map(tuple)
LANGUAGES = st.lists(st.sampled_from(["en", "ny", "pt-MZ", "zh-Hant"]), unique=True, max_size=3).map(tuple)
PAIR = st.tuples(DAY, DAY).map(lambda pair: (min(pair), max(pair)))
DAYS = st.builds(
    DaySet,
    st.frozensets(st.integers(0, 6), max_size=2),
    st.frozensets(DAY, max_size=2),
    st.lists(PAIR, max_size=2).map(tuple),
)


def maybe(strategy: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    """Return None or a value."""
    return st.none() | strategy


PRICES = st.fixed_dictionaries(
    dict.fromkeys(
        ("participant_day", "participant_night", "trainer_day", "trainer_night", "driver_day", "driver_night",
         "fare_per_km", "lunch", "venue_day", "lodging", "printing"), MONEY,
    ),
)  # fmt: skip


@st.composite
def all_settings(draw: st.DrawFn) -> Settings:
    """Draw settings; ``day_limit`` and the like stand for all numbers."""
    code, digits = draw(st.sampled_from([("ZMW", 2), ("JPY", 0), ("TND", 3)]))
    prices = draw(PRICES)
    out = draw(st.frozensets(st.sampled_from(sorted(prices)), max_size=2))
    wet = draw(st.booleans())
    return Settings(
        round=RoundSettings(
            name=draw(TEXT), first_day=date(2027, 2, 1), last_day=date(2027, 2, 12), plan_date=draw(DAY),
            announce_on=draw(maybe(DAY)), closed_days=draw(DAYS), currency=code, currency_digits=digits,
            working_days=draw(st.frozensets(st.integers(0, 6), min_size=1)),
            wet_from=date(2027, 2, 3) if wet else None, wet_to=date(2027, 2, 9) if wet else None,
        ),
        session=SessionSettings(pause=draw(st.sampled_from([(), ((43200, 45000),)])), opening=draw(COUNT)),
        teams=TeamSettings(guests_pooled=draw(st.booleans())),
        cover=CoverSettings(keep_team=draw(maybe(ROLES)), keep_team_night=draw(ROLES)),
        travel=TravelSettings(
            day_limit=draw(st.floats(0, 48)), daylight=draw(st.booleans()),
            wet_factors=draw(st.dictionaries(st.sampled_from(list(Surface)), st.floats(0.1, 1))),
        ),
        prices=PriceSettings(**{**prices, **dict.fromkeys(out, 0)}, left_out=out, cap=draw(maybe(MONEY))),
        aims=AimSettings(give_up=draw(st.dictionaries(st.sampled_from(["first teams", "cost"]), SHARE))),
    )  # fmt: skip


@st.composite
def facilities(draw: st.DrawFn, codes: list[str]) -> tuple[Facility, ...]:
    """Draw facilities close to one another."""
    return tuple(
        Facility(
            code=code, name=draw(TEXT), district=draw(TEXT), latitude=draw(st.floats(-1, 1)),
            longitude=draw(st.floats(30, 31)), teams_wanted=draw(COUNT), usual_team=MINIMUM_ROLES + draw(ROLES),
            priority=draw(st.integers(1, 5)), languages=draw(LANGUAGES), stations=draw(st.integers(0, 3)),
            session_room=draw(maybe(st.sampled_from(list(SessionRoom)))), room_limit=draw(maybe(st.integers(1, 99))),
            minutes_to_theatre=draw(maybe(COUNT)), on_site_cover=draw(st.sampled_from(list(OnSiteCover))),
            keep_team=draw(maybe(ROLES)), keep_team_night=draw(maybe(ROLES)),
            cover_run=draw(maybe(st.integers(1, 9))), course_days=draw(DAYS), closed_days=draw(DAYS),
            day_price=draw(maybe(MONEY)), lodging_price=draw(maybe(MONEY)), lodging_beds=draw(maybe(COUNT)),
            transport=draw(st.sampled_from(list(Transport))), transport_price=draw(maybe(MONEY)),
            exposure_contact=draw(NOTE), refers_to=draw(maybe(st.sampled_from([c for c in codes if c != code]))),
        )
        for code in codes
    )  # fmt: skip


@st.composite
def person(draw: st.DrawFn, code: str, home: str) -> Person:
    """Draw one member of staff."""
    roles, learner = draw(OWN_ROLES), draw(st.booleans())
    cover = () if learner else draw(st.just(roles) | ROLES)
    return Person(
        code=code, name=draw(TEXT), facility=home, roles=roles, cover_roles=cover, languages=draw(LANGUAGES),
        works_days=draw(maybe(st.frozensets(st.integers(0, 6), min_size=1))), second_seat=draw(st.booleans()),
        include=draw(st.sampled_from(list(Include))), learner=learner,
    )  # fmt: skip


@st.composite
def rounds(draw: st.DrawFn) -> TrainingRound:
    """Draw a small round that uses every table and every column."""
    homes = ["RIV", draw(st.sampled_from(["=1+1", "-lak", "@hill", "'quoted", "'=x", "Ünï 7", "007"]))]
    people = tuple(draw(person(f"P{n}", homes[n % 2])) for n in range(3))
    first, last = draw(PAIR)
    return TrainingRound(
        settings=draw(all_settings()),
        facilities=draw(facilities(homes)),
        people=people,
        duties=tuple(Duty(person="P0", date=draw(DAY), kind=draw(st.sampled_from(list(DutyKind)))) for _ in range(2)),
        absences=(Absence(who=draw(st.sampled_from(["P1", "T1", "CREW"])), first=first, last=last, kind=draw(NOTE)),),
        relief=(Relief(person="P1", facility="RIV", first=first, last=last),),
        trainers=(
            Trainer(code="T1", name=draw(TEXT), lives_at="DEPOT", languages=draw(LANGUAGES),
                    leads=draw(st.frozensets(st.sampled_from(list(Lead)), min_size=1)), available_from=first,
                    nights_away_limit=draw(maybe(COUNT)), day_price=draw(maybe(MONEY)),
                    person=draw(maybe(st.just("P0"))), crew=draw(maybe(st.just("CREW")))),
        ),
        places=(
            Place(code="DEPOT", name=draw(TEXT), latitude=0.5, longitude=30.5, closed_days=draw(DAYS),
                  kinds=draw(st.frozensets(st.sampled_from(list(PlaceKind)), min_size=1))),
        ),
        crews=(
            Crew(code="CREW", base="DEPOT", seats=draw(st.integers(4, 20)), payload_kg=draw(REAL), box_models=2,
                 space_l=draw(maybe(REAL)), price_per_km=draw(MONEY), price_per_day=draw(MONEY),
                 drivers=draw(st.integers(1, 3)), available_to=last),
        ),
        roads=(
            Road(start="DEPOT", end="RIV", km=draw(maybe(REAL)), hours=draw(st.floats(0.1, 99)),
                 oneway=draw(st.booleans()), surface=draw(maybe(st.sampled_from(list(Surface)))),
                 closures=draw(st.lists(PAIR, max_size=3).map(tuple)), open_from=6 * 3600,
                 open_to=draw(st.integers(7, 24)) * 3600),
        ),
        items=(
            Item(code="skin", name=draw(TEXT), kind=draw(st.sampled_from(list(ItemKind))), unit=draw(TEXT),
                 per=draw(st.sampled_from(list(Per))), quantity=draw(REAL), pack_size=draw(REAL),
                 pack_price=draw(maybe(MONEY)), supplier=draw(NOTE), lead_days=draw(maybe(COUNT)),
                 unit_weight_kg=draw(REAL), wastage_percent=draw(st.floats(0, 99)), uses=draw(maybe(REAL)),
                 latex=draw(st.booleans()), sharp=draw(st.booleans()), expiry=draw(maybe(DAY))),
        ),
        stock=(Stock(item="skin", place="DEPOT", quantity=draw(REAL), due=draw(maybe(DAY))),),
        cases=tuple(
            Case(code=f"C{n}", name=draw(TEXT), stop_rule=draw(TEXT), roles=draw(ROLES),
                 extra_items=draw(st.sampled_from([(), ("skin",)])))
            for n in range(2)
        ),
        ledger=(LedgerEntry(person="P2", role=Role.SCRUB, date=draw(DAY), round=draw(NOTE), result="partly"),),
        locks=(
            Lock(do=draw(st.sampled_from(list(Do))), kind=LockKind.SEAT, who="P0",
                 role=draw(maybe(st.just(Role.SCRUB))), date=draw(maybe(DAY)), place=draw(maybe(st.just("RIV"))),
                 why=draw(NOTE)),
            Lock(do=Do.KEEP, kind=LockKind.SESSION, place="RIV", crew="CREW"),
        ),
        budget=(BudgetLine(line=CostLine.LUNCHES, amount=draw(MONEY), note=draw(NOTE)),),
    )  # fmt: skip


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(rounds())
def test_a_round_written_reads_as_itself(training_round: TrainingRound) -> None:
    with tempfile.TemporaryDirectory() as folder:
        write_round(training_round, folder)
        assert read_round(folder).training_round == training_round


def test_the_snapshot_reads_as_the_same_round(tmp_path: Path) -> None:
    content = tables()
    content["roads"].append(["RIV", "LAK", "", "", "", "2027-02-05", "2027-02-05"])
    reading = read_round(write(tmp_path / "in", content), today=TODAY)
    snapshot(reading, tmp_path / "snap")
    again = read_round(tmp_path / "snap", today=TODAY + timedelta(days=9))
    assert again.training_round == reading.training_round
    assert again.training_round.settings.round.plan_date == TODAY
    assert again.contacts == ()
    assert not (tmp_path / "snap" / "contacts.csv").exists()


def test_a_second_snapshot_replaces_the_first(tmp_path: Path) -> None:
    reading = read_round(write(tmp_path / "in"), today=TODAY)
    snapshot(reading, tmp_path / "snap")
    fewer = replace(reading, training_round=reading.training_round.replace(absences=(), duties=()))
    snapshot(fewer, tmp_path / "snap")
    assert read_round(tmp_path / "snap").training_round == fewer.training_round


@pytest.mark.parametrize("counts", ["anaesthetist 2; surgical provider 1; scrub 3"])
def test_placeholders_survive(tmp_path: Path, counts: str) -> None:
    """RIV has named anaesthetists and surgical providers, so only the scrub nurses are made up; HIL has nobody."""
    content = spoilt("facilities", 2, "staff_counts", counts)
    content["facilities"][3][-1] = counts
    reading = read_round(write(tmp_path / "in", content), today=TODAY)
    made = [(p.code, p.name) for p in reading.training_round.people if p.placeholder]
    assert made[:3] == [(f"RIV-scrub-{n}", f"Scrub {n}, name wanted") for n in (1, 2, 3)]
    assert made[3:6] == [
        ("HIL-anaesthetist-1", "Anaesthetist 1, name wanted"),
        ("HIL-anaesthetist-2", "Anaesthetist 2, name wanted"),
        ("HIL-surgical-provider-1", "Surgical provider 1, name wanted"),
    ]
    snapshot(reading, tmp_path / "snap")
    assert read_round(tmp_path / "snap", today=TODAY).training_round == reading.training_round


def test_the_demo_survives(tmp_path: Path) -> None:
    demo = Path(__file__).parents[2] / "inputs_demo"
    reading = read_round(demo)
    snapshot(reading, tmp_path / "snap")
    assert read_round(tmp_path / "snap").training_round == reading.training_round


def test_defaults_of_cover_roles(tmp_path: Path) -> None:
    content = spoilt("staff", 2, "learner", "yes")
    content["staff"][2].append("")
    people = read_round(write(tmp_path / "in", content), today=TODAY).training_round.people
    assert (people[0].roles, people[0].cover_roles) == ((Role.SURGICAL_PROVIDER,), ())
    assert people[1].cover_roles == people[1].roles
    rows = round_to_tables(read_round(tmp_path / "in", today=TODAY).training_round)["staff"]
    assert [row["cover_roles"] for row in rows[:2]] == ["", ""]


FORMULAS = ["=1+1", "+1", "-1", "@cmd", "\tx", "\rx", "'=1", "''=1", "'plain", "plain"]


@pytest.mark.parametrize("text", FORMULAS)
def test_guard_is_taken_off_again(text: str) -> None:
    assert unguard(guard(text)) == text
    assert guard(text)[0] not in "=+-@\t\r"


APOSTROPHES = ["=", "'=", "''=", "'''=1", "'@hill", "'plain", "'", "''"]


@pytest.mark.parametrize("text", APOSTROPHES)
def test_an_apostrophe_of_the_users_own_stays(tmp_path: Path, text: str) -> None:
    """A guard is one mark of a cell: round.toml has none, and a table loses no more than was put on."""
    given = read_round(write(tmp_path / "in"), today=TODAY).training_round
    facility = replace(given.facilities[0], name=text, exposure_contact=text)
    named = replace(given.settings, round=replace(given.settings.round, name=text))
    changed = given.replace(settings=named, facilities=(facility, *given.facilities[1:]))
    write_round(changed, tmp_path / "out")
    assert read_round(tmp_path / "out").training_round == changed


def test_numbers_are_never_guarded_and_text_always_is() -> None:
    row = {"place": "P", "name": "=HYPERLINK(1)", "kind": "store", "latitude": "-12.5", "longitude": "33"}
    text = csv_text(BY_NAME["places"], [row])
    cells = list(csv.reader(text.splitlines()))[1]
    assert cells[:5] == ["P", "'=HYPERLINK(1)", "store", "-12.5", "33"]
