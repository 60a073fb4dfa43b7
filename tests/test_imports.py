"""The import table of DEVELOPERS.md holds: each room imports only the rooms listed beside it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import roundplan

PACKAGE = Path(roundplan.__file__).parent
DEVELOPERS = PACKAGE.parent / "DEVELOPERS.md"
HEAVY = ("folium", "numpy", "openpyxl", "ortools", "pandas")


def table_rows() -> dict[str, str]:
    """Return the table's first and last columns."""
    text = DEVELOPERS.read_text(encoding="utf-8")
    rows = re.findall(r"^\| `([a-z_.]+)` \|[^|]*\| ([^|]+) \|$", text, flags=re.MULTILINE)
    return dict(rows)


def allowed() -> dict[str, frozenset[str]]:
    """Return for each room (or module of the top) the rooms that it may import."""
    found: dict[str, frozenset[str]] = {}
    for room, words in table_rows().items():
        name = room.removesuffix(".py")
        if words.strip() == "standard library only":
            found[name] = frozenset()
        elif words.strip() == "all of the above":
            found[name] = frozenset(found)
        else:
            found[name] = frozenset(word.strip().removesuffix(".py") for word in words.split(","))
    return found


def imported(source: str, package: str) -> Iterator[str]:
    """Yield every module that a source imports anywhere, relative imports resolved against its package."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            parts = package.split(".")
            base = ".".join(parts[: len(parts) - node.level + 1]) if node.level else ""
            module = ".".join(part for part in (base, node.module) if part)
            yield from (f"{module}.{alias.name}" for alias in node.names) if module == "roundplan" else [module]


def faults(source: str, home: str, package: str, table: dict[str, frozenset[str]]) -> list[str]:
    """Return the imports of other rooms that the table does not allow to a room; an unlisted room is never allowed."""
    rooms = [room(name.split(".")[1], table) for name in imported(source, package) if name.startswith("roundplan.")]
    rooms = [name for name in rooms if not name.startswith("__")]
    return [name for name in rooms if name != home and name not in table[home]]


def top_level(source: str) -> set[str]:
    """Return the packages that a source imports outside functions and type-checking blocks."""
    tree = ast.parse(source)
    plain = [node for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom)]
    return {name.split(".")[0] for node in plain for name in imported(ast.unparse(node), "roundplan")}


MODULES = sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE or path.stem != "__init__")


def room(name: str, table: dict[str, frozenset[str]]) -> str:
    """Return the room of a folder or top module; ``cli_progress`` is part of ``cli``."""
    first = name.split("_")[0]
    return first if name not in table and first in table else name


def room_of(path: Path) -> str:
    return room(path.relative_to(PACKAGE).parts[0].removesuffix(".py"), allowed())


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_a_module_imports_only_rooms_it_may(path):
    table, home = allowed(), room_of(path)
    if home not in table:
        pytest.fail(f"{home} stands in no row of the table in DEVELOPERS.md")
    package = ".".join(path.relative_to(PACKAGE.parent).parts[:-1])

    assert faults(path.read_text(encoding="utf-8"), home, package, table) == []


@pytest.mark.parametrize("path", [p for p in MODULES if room_of(p) == "domain"], ids=lambda path: path.name)
def test_the_domain_uses_the_standard_library_only(path):
    import sys

    packages = {name.split(".")[0] for name in imported(path.read_text(encoding="utf-8"), "roundplan.domain")}

    assert packages - {"roundplan"} <= sys.stdlib_module_names


def test_the_table_is_read_whole():
    table = allowed()

    assert list(table)[:3] == ["domain", "travel", "intake"]
    assert table["audit"] == {"domain", "travel", "supplies", "costs"}
    assert table["domain"] == frozenset()
    assert "solver" in table["workflow"]
    assert table["cli"] == {"workflow", "domain"}


@pytest.mark.parametrize(
    ("source", "wrong"),
    [
        ("from roundplan.solver.choices import Choices", ["solver"]),
        ("import roundplan.solver", ["solver"]),
        ("from roundplan import handouts, domain", ["handouts"]),
        ("from ..solver import search", ["solver"]),
        ("from .. import intake", ["intake"]),
        ("def late():\n    from roundplan.solver import find_plan", ["solver"]),
        ("from roundplan.domain.plan import Plan\nfrom roundplan.costs import pricing\nimport json", []),
        ("from .book import Book", []),
        ("from roundplan.cli.progress import show", ["cli"]),
        ("from roundplan.attic import old", ["attic"]),
    ],
)
def test_a_wrong_import_is_found(source, wrong):
    assert faults(source, "audit", "roundplan.audit", allowed()) == wrong


def test_the_package_itself_loads_nothing_heavy():
    source = (PACKAGE / "__init__.py").read_text(encoding="utf-8")

    assert top_level(source) & set(HEAVY) == set()
    assert top_level("import pandas as pd\ndef f():\n    import folium") == {"pandas"}
