"""What is asked for becomes rounds with just that changed; what cannot be done is refused in plain words."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from rounds import crew, day, settings, tiny_round, trainer

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.outcome import InputsRefused, WrongPlace
from roundplan.domain.person import Absence
from roundplan.domain.scenario import Asked, ChangeKind, Scenario
from roundplan.domain.training_round import TrainingRound
from roundplan.intake import Reading, read_round, write_round
from roundplan.scenarios import stress
from roundplan.scenarios.changes import MOST, column_words, scenarios


def reading_of(training_round: TrainingRound) -> Reading:
    return Reading(training_round=training_round, contacts=(), warnings=(), tables={})


def changed(training_round: TrainingRound, **asked: object) -> list[Scenario]:
    """Return the scenarios but that of the round as entered."""
    found = scenarios(reading_of(training_round), Asked(**asked))  # type: ignore[arg-type]
    assert found[0] == Scenario((), training_round)
    return list(found[1:])


def test_each_value_of_a_setting_is_a_column() -> None:
    found = changed(tiny_round(), settings=["teams.guests=0", "teams.guests = pooled", "travel.day_limit=1.5"])
    assert [column_words(s.changes) for s in found] == [
        "teams.guests = 0",
        "teams.guests = pooled",
        "travel.day_limit = 1.5",
    ]
    none, pooled, near = (s.training_round.settings for s in found)
    assert (none.teams.guests, none.teams.guests_pooled) == (0, False)
    assert pooled.teams.guests_pooled
    assert near.travel.day_limit == 1.5
    assert near.teams == tiny_round().settings.teams


def test_money_and_dates_are_read_as_in_the_settings_file() -> None:
    found = changed(tiny_round(), settings=["prices.lunch=2.50", "round.last_day=2026-06-03", "session.teach_to=15:00"])
    lunch, last, until = (s.training_round.settings for s in found)
    assert (lunch.prices.lunch, last.round.last_day, until.session.teach_to) == (250, date(2026, 6, 3), 15 * 3600)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("guests=0", "“guests=0” is no setting; write it as in --set teams.guests=0"),
        ("teams.guests", "“teams.guests” is no setting; write it as in --set teams.guests=0"),
        ("teams.guests=", "“teams.guests=” is no setting; write it as in --set teams.guests=0"),
    ],
)
def test_what_is_no_setting_is_refused(text: str, words: str) -> None:
    with pytest.raises(WrongPlace) as refused:
        changed(tiny_round(), settings=[text])
    assert str(refused.value) == words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("teams.gests=0", "did you mean guests?"),
        ("team.guests=0", "there is no section [team]"),
        ("teams.guests=many", "--set, column teams.guests, “many”"),
        ("round.last_day=31/04", "--set, column round.last_day"),
        ("round.last_day=2026-05-01", "round.last_day = 2026-05-01:"),
    ],
)
def test_findings_name_the_setting(text: str, words: str) -> None:
    with pytest.raises(InputsRefused) as refused:
        changed(tiny_round(), settings=[text])
    assert words in str(refused.value)


def test_combinations_only_where_asked() -> None:
    asked = {"settings": ["teams.guests=0", "teams.guests=2", "session.demonstrations=1"], "without": ["T4"]}
    assert len(changed(tiny_round(), **asked)) == 4
    together = changed(tiny_round(), **asked, combine=True)
    # 3 × 2 × 2 combinations less the round as entered.
    assert len(together) == 11
    assert column_words(together[-1].changes) == "teams.guests = 2, session.demonstrations = 1, without T4"


def test_too_many_columns_are_refused_and_none_is_too() -> None:
    with pytest.raises(WrongPlace, match=f"{MOST + 1} plans are more than the {MOST}"):
        changed(tiny_round(), settings=[f"travel.set_up={n}" for n in range(1, MOST + 1)])
    with pytest.raises(WrongPlace, match="there is nothing to compare"):
        changed(tiny_round())


def test_equal_columns_stand_once() -> None:
    found = changed(tiny_round(), settings=["teams.guests=0"], stress=True)
    assert sum(s.training_round.settings.teams.guests == 0 for s in found) == 1


def test_without_a_crew_its_trainers_stay_and_locks_on_it_fall() -> None:
    round_ = tiny_round(
        crews=(crew("CREW"), crew("OTHER")),
        trainers=(trainer("T1", "ds", crew="OTHER"), *tiny_round().trainers[1:]),
        absences=(Absence(who="OTHER", first=day(0), last=day(0)),),
        locks=(Lock(do=Do.KEEP, kind=LockKind.SESSION, place="ALFA", date=day(1), crew="OTHER"),),
    )
    (found,) = changed(round_, without=["OTHER"])
    left = found.training_round
    assert [c.code for c in left.crews] == ["CREW"]
    assert left.trainer("T1").crew is None
    assert (left.absences, left.locks) == ((), ())
    assert found.changes[0].kind is ChangeKind.CREW


def test_without_a_trainer() -> None:
    round_ = tiny_round(absences=(Absence(who="T2", first=day(0), last=day(0)),))
    (found,) = changed(round_, without=["T2"])
    assert [t.code for t in found.training_round.trainers] == ["T1", "T3", "T4"]
    assert found.training_round.absences == ()
    with pytest.raises(WrongPlace, match="there is no crew and no trainer ALFA"):
        changed(round_, without=["ALFA"])


def test_another_table_is_read_and_checked(tmp_path: Path) -> None:
    write_round(tiny_round(), tmp_path / "inputs")
    reading = read_round(tmp_path / "inputs", today=date(2026, 4, 1))
    rows = (tmp_path / "inputs" / "crews.csv").read_text(encoding="utf-8")
    other = tmp_path / "crews.csv"
    heading, row = rows.splitlines()
    other.write_text("\n".join([heading, row, row.replace("CREW", "SECOND")]), encoding="utf-8")
    _, found = scenarios(reading, Asked(tables=[other]))
    assert [c.code for c in found.training_round.crews] == ["CREW", "SECOND"]
    assert found.training_round.replace(crews=reading.training_round.crews) == reading.training_round
    other.write_text(rows.replace("BASE", "NOWHERE"), encoding="utf-8")
    with pytest.raises(InputsRefused, match=r"with .*crews.csv: crews.csv, row 2"):
        scenarios(reading, Asked(tables=[other]))
    with pytest.raises(WrongPlace, match="has the name of no table"):
        scenarios(reading, Asked(tables=[tmp_path / "people.csv"]))
    with pytest.raises(WrongPlace, match="cannot be read"):
        scenarios(reading, Asked(tables=[tmp_path / "absent" / "crews.csv"]))


# stress tests -----------------------------------------------------------------------------------------------------


def test_stress_tests() -> None:
    round_ = tiny_round(
        crews=(crew("CREW"), crew("LARGE", box_models=3)),
        settings=settings(travel={"factor_entered": 1.2, "factor_modelled": 1.25}),
    )
    roads, ill, lost, alone = changed(round_, stress=True)
    travel = roads.training_round.settings.travel
    assert (travel.factor_entered, travel.factor_modelled) == (1.5 * 1.2, 1.5 * 1.25)
    # Newborn care is led by T3 and T4, directing by T1 and T3, anaesthesia by T2 and T4: of equals, whoever holds most.
    assert [t.code for t in ill.training_round.trainers] == ["T1", "T2", "T4"]
    assert [c.code for c in lost.training_round.crews] == ["CREW"]
    assert alone.training_round.settings.teams.guests == 0


def test_the_scarcest_trainer_holds_a_lead_that_fewest_others_hold() -> None:
    trainers = (trainer("T1", "ds"), trainer("T2", "a"), trainer("T3", "ds"), trainer("T4", "an"))
    # Newborn care is led by T4 alone.
    found = stress.scarcest_trainer(tiny_round(trainers=trainers))
    assert found is not None
    assert found.code == "T4"
    # With another one for newborn care, anaesthesia has two on all four dates, T2 on one date only: who is left when
    # T4 falls ill could lead on one date.
    short = (*trainers[:1], trainer("T2", "an", available_to=day(0)), *trainers[2:])
    found = stress.scarcest_trainer(tiny_round(trainers=short))
    assert found is not None
    assert found.code == "T4"


def test_a_round_with_one_crew_loses_none() -> None:
    assert stress.largest_crew(tiny_round()) is None
    assert all(s.changes[0].kind is not ChangeKind.LOST for s in changed(tiny_round(), stress=True))
