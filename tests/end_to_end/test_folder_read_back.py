"""All documents of the demo round say what plan.json says, read back file by file."""

from __future__ import annotations

from folder_facts import FolderFacts
from written_plans import Written


def test_every_document_of_the_demo_says_what_the_plan_says(demo: Written) -> None:
    files = {
        str(path.relative_to(demo.out)): path.read_bytes()
        for path in sorted(demo.out.rglob("*"))
        if path.is_file() and path.suffix != ".sqlite"
    }
    assert {"trainers", "crews", "facilities", "letters", "slips", "districts", "sessions"} <= {
        path.partition("/")[0] for path in files
    }
    facts = FolderFacts(demo.json, demo.training_round, files)
    assert facts.faults() == []
    assert facts.indiscretions({c.who: c.phone for c in demo.contacts if c.phone}) == []
