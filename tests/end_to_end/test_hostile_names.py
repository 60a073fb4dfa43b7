"""A round whose every name is hostile, all the way from its tables to the documents as readers open them."""

from __future__ import annotations

import csv
import dataclasses
from collections.abc import Callable
from html import unescape
from itertools import cycle
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from pdf_reading import whole, words_outside
from rounds import settings, tiny_round

from roundplan.audit import audit_plan
from roundplan.domain.decision import BudgetLine, CostLine, Do, Lock, LockKind
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.intake import read_round, write_round
from roundplan.workflow import make_plan, write_handouts

HOSTILE = (
    "<script>alert(1)</script>",
    "${7*7}",
    "</title></svg><img src=//outside.example/x.png onerror=alert(1)>",
    "=cmd()",
    "\"double\" 'single' `backtick` \\",
    "👩🏾‍⚕️ 🚑",
    "مستشفى الأمل – תקווה",
    "{{ 7*7 }}{% raw %}",
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "]]>--></style><b onmouseover=alert(1)>&amp;",
)
"""Markup, template and formula injection, quotation marks, joined emoji, text from right to left."""
DISTRICT = "</title><script>alert(2)</script>"
WORD_JOINER = "\N{WORD JOINER}"


def hostile_round() -> TrainingRound:
    """Return the tiny round with a hostile text wherever a table takes free text."""
    plain = tiny_round()
    texts = cycle(HOSTILE)

    def renamed(rows: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(dataclasses.replace(row, name=f"{next(texts)} {row.code}") for row in rows)

    facilities = tuple(
        dataclasses.replace(row, name=HOSTILE[number], district=DISTRICT, exposure_contact=f"{HOSTILE[3]} {HOSTILE[5]}")
        for number, row in enumerate(plain.facilities)
    )
    keep = Lock(do=Do.KEEP, kind=LockKind.FACILITY, who="ALFA", why="=1+1")
    items = tuple(dataclasses.replace(row, unit=HOSTILE[3], supplier=HOSTILE[0]) for row in renamed(plain.items))
    return plain.replace(
        settings=settings(plain.settings, round={"name": HOSTILE[2]}),
        facilities=facilities,
        people=renamed(plain.people),
        trainers=renamed(plain.trainers),
        places=renamed(plain.places),
        items=items,
        cases=tuple(dataclasses.replace(row, stop_rule=HOSTILE[9]) for row in renamed(plain.cases)),
        locks=(keep,),
        budget=(BudgetLine(line=CostLine.VENUES, amount=40, note="=HYPERLINK(0)"),),
    )


@dataclasses.dataclass(frozen=True)
class Written:
    """A plan of the hostile round and the folder that holds its documents."""

    plan: Plan
    training_round: TrainingRound
    out: Path

    def page(self, name: str) -> str:
        """Return a document of the folder as text."""
        return (self.out / name).read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Written:
    base = tmp_path_factory.mktemp("hostile")
    write_round(hostile_round(), base / "in")
    contacts = [["who", "phone", "email"], ["manager", "=1+1", "<b>@x.example"], ["ALFA", HOSTILE[0], ""]]
    with (base / "in" / "contacts.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(contacts)
    reading = read_round(base / "in")
    assert reading.training_round == hostile_round(), "names come back from the tables as they were"
    plan = make_plan(reading.training_round, seconds=8, workers=1)
    plan = write_handouts(plan, reading, base / "OUT")
    assert audit_plan(plan, reading.training_round) == ()
    return Written(plan, reading.training_round, base / "OUT")


def shown(page: Any) -> str:
    """Return what a page shows, one space for any white space."""
    text: str = page.evaluate("document.body.innerText")
    return " ".join(text.replace(WORD_JOINER, "").split())


def test_pages_open_and_show_names_as_text(written: Written, open_offline: Callable[..., Any]) -> None:
    """``open_offline`` fails the test for a dialog, an error or a request to anywhere."""
    names = sorted(str(path.relative_to(written.out)) for path in written.out.rglob("*.html"))
    assert {name.split("/")[0] for name in names} == {
        "report.html", "summary.html", "map.html", "labels.html", "facilities", "districts", "trainers", "crews",
        "slips", "letters", "sessions",
    }  # fmt: skip
    together = ""
    for name in names:
        page = open_offline(written.page(name))
        assert page.locator("img[src*=outside], b[onmouseover], [onerror]").count() == 0, name
        if name != "map.html":
            assert page.locator("script").count() == 0, name
            together += shown(page)
        page.close()
    assert "49" not in together.replace("${7*7}", "").replace("{{ 7*7 }}", "").split(), "a template was run"
    assert [text for text in HOSTILE if text not in together] == []
    assert DISTRICT in together


@pytest.mark.parametrize("code", ["ALFA", "BETA"])
def test_a_facilitys_sheet_bears_its_name(written: Written, open_offline: Callable[..., Any], code: str) -> None:
    page = open_offline(written.page(f"facilities/{code}.html"))
    name = written.training_round.facility(code).name
    assert name in page.locator("h1").inner_text() + page.title()
    seated = [seat.person for team in written.plan.teams if team.facility == code for seat in team.seats]
    assert seated
    said = shown(page)
    assert [person for person in seated if written.training_round.name_of(person) not in said] == []


def test_the_map_shows_names_as_text_also_when_touched(written: Written, open_offline: Callable[..., Any]) -> None:
    page = open_offline(written.page("map.html"))
    for mark in page.locator(".mark").all():
        mark.dispatch_event("click")
    popups = " ".join(page.locator(".leaflet-popup-content, .name").all_inner_texts())
    said = " ".join(popups.replace(WORD_JOINER, "").split())
    assert HOSTILE[0] in said
    assert HOSTILE[1] in said
    page.locator(".leaflet-control-layers-toggle").dispatch_event("click")
    page.wait_for_timeout(100)
    assert page.locator("img[src*=outside], b[onmouseover], [onerror]").count() == 0


def test_packs_print_names_as_text_and_say_what_they_cannot(written: Written) -> None:
    """Markup of typst among them: the names hold its signs too. Emoji are printed as their codes."""
    packs = sorted((*written.out.glob("trainers/*.pdf"), *written.out.glob("crews/*.pdf")))
    assert {path.parent.name for path in packs} == {"trainers", "crews"}
    together = " ".join(whole(path) for path in packs).replace(" ", "")
    assert all(words_outside(path) == [] for path in packs)
    plain = [text for text in HOSTILE if not {*text} & {*"👩🚑تר"}]
    assert [text for text in plain if text.replace(" ", "") not in together] == []
    assert "[U+1F469]" in together
    report = unescape(written.page("report.html"))
    assert "holds characters that the fonts for print do not have" in report
    assert "trainers/T1.pdf" in report
    assert "[U+1F691]" in report


def test_workbooks_hold_no_formula_but_their_own_sums(written: Written) -> None:
    books = sorted(written.out.rglob("*.xlsx"))
    assert {path.name for path in books} >= {"round.xlsx", "supplies.xlsx"}
    assert len(books) == 7  # a district's and two facilities' to reply in, forms of the session and of the office
    texts: set[str] = set()
    for path in books:
        for sheet in openpyxl.load_workbook(path):
            for cell in (cell for row in sheet.iter_rows() for cell in row):
                if cell.data_type == "f":
                    assert str(cell.value).startswith("=SUM("), (path.name, sheet.title, cell.coordinate)
                    continue
                assert cell.hyperlink is None
                if isinstance(cell.value, str):
                    texts.add(cell.value)
                    if cell.value.startswith("="):
                        assert cell.quotePrefix, (path.name, sheet.title, cell.coordinate)
    people = {written.training_round.name_of(seat.person) for team in written.plan.teams for seat in team.seats}
    assert people <= texts
    assert written.training_round.facility("BETA").name in texts


def test_the_snapshot_is_guarded_and_reads_as_the_same_round(written: Written) -> None:
    cells = [
        cell
        for path in sorted((written.out / "inputs").glob("*.csv"))
        for row in csv.reader(path.read_text(encoding="utf-8").splitlines())
        for cell in row
    ]
    assert [cell for cell in cells if cell[:1] in ("=", "+", "@", "\t", "\r")] == []
    assert "'=1+1" in cells
    assert any(cell.startswith("'=cmd() ") for cell in cells)
    assert not (written.out / "inputs" / "contacts.csv").exists()
    assert read_round(written.out / "inputs").training_round == hostile_round()


def test_plan_json_names_people_by_code_alone(written: Written) -> None:
    text = written.page("plan.json")
    assert '"ALFA-P' in text
    assert [p.name for p in written.training_round.people if p.name in text] == []
    assert DISTRICT not in text
