"""What is asked on the command line → rounds with the changes made."""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Iterable
from dataclasses import replace
from itertools import product
from pathlib import Path

from roundplan.domain.flaw import FlawsFound
from roundplan.domain.outcome import InputsRefused, WrongPlace
from roundplan.domain.scenario import Asked, Change, ChangeKind, Scenario
from roundplan.domain.settings import Settings
from roundplan.domain.training_round import TrainingRound
from roundplan.intake import Reading
from roundplan.scenarios import stress

MOST = 60
"""Columns that one comparison can have: beyond, nobody reads it."""


def scenarios(reading: Reading, asked: Asked) -> tuple[Scenario, ...]:
    """Return the round as entered, then one scenario a column.

    Raises
    ------
    WrongPlace
        If nothing is asked, or something that cannot be done.
    InputsRefused
        If a changed round has findings.
    """
    groups = _groups(reading.training_round, asked)
    if asked.combine:
        chosen = [
            tuple(c for c in combination if c is not None) for combination in product(*([None, *g] for g in groups))
        ]
        columns = [changes for changes in chosen if changes]
    else:
        columns = [(change,) for group in groups for change in group]
    if asked.stress:
        columns += [(change,) for change in stress.changes(reading.training_round)]
    columns = list(dict.fromkeys(columns))
    if not columns:
        raise WrongPlace("there is nothing to compare; say what to change with --set, --without, --with or --stress")
    if len(columns) >= MOST:
        raise WrongPlace(f"{len(columns) + 1} plans are more than the {MOST} that one comparison holds; ask for fewer")
    changed: list[Scenario] = []
    for changes in columns:
        scenario = _changed(reading, changes)
        if all(scenario.training_round != other.training_round for other in changed):
            changed.append(scenario)
    return Scenario((), reading.training_round), *changed


def _groups(training_round: TrainingRound, asked: Asked) -> list[list[Change]]:
    """Return changes of which only one can be made at a time: those of one setting, those of one table, each other."""
    groups: dict[str, list[Change]] = {}
    for text in asked.settings:
        key, equals, value = (part.strip() for part in text.partition("="))
        if not equals or "." not in key or not value:
            raise WrongPlace(f"“{text}” is no setting; write it as in --set teams.guests=0")
        groups.setdefault(key, []).append(Change(ChangeKind.SETTING, key, key, value))
    for code in asked.without:
        groups.setdefault(f"without {code}", []).append(_without(training_round, code))
    for path in asked.tables:
        groups.setdefault(f"with {path.stem}", []).append(Change(ChangeKind.TABLE, path.stem, path.name, str(path)))
    return list(groups.values())


def _without(training_round: TrainingRound, code: str) -> Change:
    if any(crew.code == code for crew in training_round.crews):
        return Change(ChangeKind.CREW, code, code)
    for trainer in training_round.trainers:
        if trainer.code == code:
            return Change(ChangeKind.TRAINER, code, trainer.name)
    raise WrongPlace(f"there is no crew and no trainer {code}; --without takes a code of one of these tables")


def _changed(reading: Reading, changes: tuple[Change, ...]) -> Scenario:
    """Return a scenario with its changes made, tables first."""
    order = sorted(changes, key=lambda change: change.kind is not ChangeKind.TABLE)
    changed = reading.training_round
    for change in order:
        try:
            changed = _made(changed, reading, change)
        except FlawsFound as found:
            raise InputsRefused([f"{words_of(change)}: {flaw.words}; {flaw.remedy}" for flaw in found.flaws]) from found
    return Scenario(changes, changed)


def _made(training_round: TrainingRound, reading: Reading, change: Change) -> TrainingRound:
    match change.kind:
        case ChangeKind.SETTING:
            return training_round.replace(settings=with_setting(training_round, change))
        case ChangeKind.CREW | ChangeKind.LOST:
            return without_crew(training_round, change.subject)
        case ChangeKind.TRAINER | ChangeKind.ILL:
            return without_trainer(training_round, change.subject)
        case ChangeKind.TABLE:
            return with_table(training_round, reading, change)
        case _:
            return training_round.replace(settings=stress.settings_of(training_round, change))


def words_of(change: Change) -> str:
    """Say a change in English, for messages and the terminal."""
    return {
        ChangeKind.SETTING: f"{change.subject} = {change.value}",
        ChangeKind.CREW: f"without crew {change.name}",
        ChangeKind.TRAINER: f"without {change.name}",
        ChangeKind.TABLE: f"with {change.name}",
        ChangeKind.ROADS: f"roads take {change.value} times as long",
        ChangeKind.ILL: f"{change.name} is ill",
        ChangeKind.LOST: f"the vehicle of {change.name} is lost",
        ChangeKind.NO_GUESTS: "no guests",
    }[change.kind]


def column_words(changes: Iterable[Change]) -> str:
    """Say all changes of a column in English."""
    return ", ".join(map(words_of, changes)) or "as entered"


# making the changes -----------------------------------------------------------------------------------------------


def with_setting(training_round: TrainingRound, change: Change) -> Settings:
    """Return the settings with one key changed, read and checked as if it stood in round.toml."""
    from roundplan.intake.finding import Finding
    from roundplan.intake.settings_reader import read_settings
    from roundplan.intake.settings_source import Entry
    from roundplan.intake.toml_out import settings_toml

    asked_for, _, asked_key = change.subject.partition(".")
    tree = tomllib.loads(settings_toml(training_round.settings))
    tree.setdefault(asked_for, {})[asked_key] = change.value
    entries = [Entry("--set", None, section, key, v) for section, group in tree.items() for key, v in group.items()]
    findings: list[Finding] = []
    today = training_round.settings.round.plan_date or training_round.settings.round.first_day
    read = read_settings(entries, today, findings)
    if findings:
        raise InputsRefused(list(map(str, findings)))
    return read.settings


def without_crew(training_round: TrainingRound, code: str) -> TrainingRound:
    """Return the round without a crew: its trainers may go with others, and locks on it fall."""
    return training_round.replace(
        crews=tuple(crew for crew in training_round.crews if crew.code != code),
        trainers=tuple(replace(t, crew=None) if t.crew == code else t for t in training_round.trainers),
        absences=tuple(row for row in training_round.absences if row.who != code),
        locks=tuple(lock for lock in training_round.locks if lock.crew != code),
    )


def without_trainer(training_round: TrainingRound, code: str) -> TrainingRound:
    """Return the round without a trainer, who stays a member of staff where they are one; locks on them fall."""
    return training_round.replace(
        trainers=tuple(trainer for trainer in training_round.trainers if trainer.code != code),
        absences=tuple(row for row in training_round.absences if row.who != code),
        locks=tuple(lock for lock in training_round.locks if lock.who != code),
    )


def with_table(training_round: TrainingRound, reading: Reading, change: Change) -> TrainingRound:
    """Return the round with a table read from another file, all tables checked again.

    Raises
    ------
    InputsRefused
        If the tables have findings then.
    WrongPlace
        If the file is not there, or has the name of no table.
    """
    from roundplan.intake import FindingsError, read_round, snapshot
    from roundplan.intake.columns import BY_NAME

    source = Path(change.value)
    if change.subject not in BY_NAME or source.suffix.casefold() != ".csv":
        raise WrongPlace(f"{source} has the name of no table; --with takes a file such as crews.csv")
    if change.subject == "contacts":
        raise WrongPlace("contacts have no bearing on a plan; --with takes other tables")
    today = training_round.settings.round.plan_date
    with tempfile.TemporaryDirectory() as folder:
        try:
            snapshot(replace(reading, training_round=training_round), folder)
            (Path(folder) / f"{change.subject}.csv").write_bytes(source.read_bytes())
            return read_round(folder, today=today).training_round
        except FindingsError as error:
            raise InputsRefused([f"with {source}: {finding}" for finding in error.findings]) from error
        except OSError as error:
            raise WrongPlace(f"{source} cannot be read: {error.strerror or error}") from error
