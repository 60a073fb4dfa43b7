"""Reads a page as a browser would, so that tests can ask what is text and what is markup."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

from html_sample import CONTACTS, hostile_plan, hostile_round, sample_plan, sample_round

from roundplan.domain.plan import Plan
from roundplan.domain.saying import Notice, saying
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts import report
from roundplan.handouts.district import sheet as district_sheet
from roundplan.handouts.facility import sheet as facility_sheet
from roundplan.handouts.folder import SESSION_SHEETS
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road import crew_page, trainer_page
from roundplan.handouts.sheets import release
from roundplan.handouts.slips import page as slip_page


@dataclass
class Page:
    """Tags with attributes, headings by level, and all text outside styles."""

    tags: list[tuple[str, dict[str, str | None]]] = field(default_factory=list)
    headings: list[int] = field(default_factory=list)
    text: str = ""


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.page = Page()
        self._in_style = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.page.tags.append((tag, dict(attrs)))
        self._in_style = tag == "style"
        if tag in ("h1", "h2", "h3", "h4"):
            self.page.headings.append(int(tag[1]))

    def handle_endtag(self, tag: str) -> None:
        self._in_style = False

    def handle_data(self, data: str) -> None:
        if not self._in_style:
            self.page.text += data


def read_page(html: str) -> Page:
    reader = _Reader()
    reader.feed(html)
    reader.close()
    reader.page.text = " ".join(reader.page.text.replace("\N{WORD JOINER}", "").split())
    return reader.page


WARNING = Notice(file="facilities.csv", row=2, column="facility", said=saying("No roster for {who}.", who="<b>KAM</b>"))


def all_pages(plan: Plan, training_round: TrainingRound) -> dict[str, str]:
    """Return the HTML documents of a plan by name: all of the larger kinds, one of each kind of slip and sheet."""
    district = training_round.facilities[0].district
    pages = {"report": report.render(plan, training_round, warnings=[WARNING])}
    for facility in training_round.facilities:
        pages[f"facility {facility.code}"] = facility_sheet.render(
            plan, training_round, facility.code, contacts=CONTACTS
        )
    pages["district"] = district_sheet.render(plan, training_round, district, contacts=CONTACTS)
    for trainer in training_round.trainers:
        pages[f"trainer {trainer.code}"] = trainer_page.render(plan, training_round, trainer.code, contacts=CONTACTS)
    for crew in training_round.crews:
        pages[f"crew {crew.code}"] = crew_page.render(plan, training_round, crew.code, contacts=CONTACTS)
    index, code, session = PlanIndex(plan, training_round), training_round.facilities[0].code, plan.sessions[1].code
    pages["slip"] = slip_page.render(index, code, contacts=CONTACTS)
    pages["letter"] = release.render(index, code, contacts=CONTACTS)
    for name, render in SESSION_SHEETS.items():
        pages[f"session {name}"] = render(index, session)
    return pages


def sample_pages() -> dict[str, str]:
    return all_pages(sample_plan(), sample_round())


def hostile_pages() -> dict[str, str]:
    return all_pages(hostile_plan(), hostile_round())
