"""Folders of outputs: written and announced once, copied for each test."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import held_rounds
import pytest
import told_rounds

from roundplan import workflow
from roundplan.followup.clock import held_at


@pytest.fixture(autouse=True)
def light(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Write the slips alone, except in tests marked by the fixture ``all_documents``."""
    if "all_documents" not in request.fixturenames:
        monkeypatch.setattr("roundplan.handouts.folder.documents", told_rounds.slips_alone)


@pytest.fixture
def all_documents() -> None:
    """Have every document written."""


@pytest.fixture(scope="session")
def drafted_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return told_rounds.write_draft(tmp_path_factory.mktemp("drafted"))


@pytest.fixture(scope="session")
def announced_once(drafted_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("announced") / "OUT"
    shutil.copytree(drafted_once, out)
    with pytest.MonkeyPatch.context() as patch, held_at(told_rounds.SENT):
        patch.setattr("roundplan.handouts.folder.documents", told_rounds.slips_alone)
        workflow.announce(out, who="Anna", why="agreed with the districts")
    return out


@pytest.fixture
def drafted(drafted_once: Path, tmp_path: Path) -> Path:
    shutil.copytree(drafted_once, tmp_path / "OUT")
    return tmp_path / "OUT"


@pytest.fixture
def announced(announced_once: Path, tmp_path: Path) -> Path:
    shutil.copytree(announced_once, tmp_path / "OUT")
    return tmp_path / "OUT"


@pytest.fixture
def written(tmp_path: Path) -> Callable[[str, str], Path]:
    """Return a function that writes a text file."""

    def write(name: str, text: str) -> Path:
        (tmp_path / name).write_text(text, encoding="utf-8")
        return tmp_path / name

    return write


@pytest.fixture
def filled(announced: Path, tmp_path: Path) -> Callable[..., Path]:
    """Return a function that fills in a facility's slip."""

    def make(cells: told_rounds.Cells, facility: str = "GAMA", name: str = "back.xlsx") -> Path:
        return told_rounds.fill(announced / "slips" / f"{facility}.xlsx", tmp_path / name, cells)

    return make


@pytest.fixture
def form(announced: Path, tmp_path: Path) -> Callable[..., Path]:
    """Return a function that fills in a session's form, or the programme manager's own."""

    def make(cells: held_rounds.Form, session: str = "S1", name: str = "") -> Path:
        source = announced / ("closing.xlsx" if session == "office" else f"sessions/{session}-attendance.xlsx")
        return held_rounds.fill(source, tmp_path / (name or f"{session}.xlsx"), cells)

    return make
