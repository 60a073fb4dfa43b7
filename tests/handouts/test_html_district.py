"""A district's sheet: its own facilities only, with the codes of their slips."""

from __future__ import annotations

from html_reading import read_page
from html_sample import CONTACTS, sample_plan, sample_round

from roundplan.handouts.district import sheet as district_sheet
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.slips.rows import Slip, facilities_of, slip_of


def test_the_page_has_its_own_facilities_only() -> None:
    said = read_page(district_sheet.render(sample_plan(), sample_round(), "Lisamba", contacts=CONTACTS)).text
    names = {p.name for p in sample_round().people if p.name in said}
    assert {name.split()[-1] for name in names} == {"Phiri"}
    assert "Phonje Health Centre No team from here in this round" in said
    assert "+000 20 003" in said
    assert "+000 20 001" not in said
    assert "Code Who Role Standby Reply Replaced by" in said
    assert "Code Shift These stay Confirmed by On, at" in said


def test_the_page_has_the_codes_of_the_slips() -> None:
    plan, r = sample_plan(), sample_round()
    said = read_page(district_sheet.render(plan, r, "Lisamba", contacts=CONTACTS)).text
    index = PlanIndex(plan, r)
    codes = [code for f in facilities_of(index, "Lisamba") for code in codes_of(slip_of(index, f.code))]
    assert len(codes) > 5
    assert [code for code in codes if code not in said] == []


def codes_of(slip: Slip) -> list[str]:
    return [row.code for row in slip.seats if row.code] + [row.code for row in slip.shifts]
