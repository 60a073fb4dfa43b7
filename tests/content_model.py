"""What may stand in what: pages judged by html-validate, an offline validator that runs on Node.

The parser of ``report_facts.parsed`` finds broken syntax; this finds elements where the content model of HTML does not
allow them, attributes and roles that do not exist, ids given twice and labels that lead nowhere. Its settings lie in
``html_validator``: beside the standard's own rules those on accessibility, less two. Tables name their roles once more
because narrow screens lay them out anew, by which browsers forget what they are; the map's form is never sent.
"""

from __future__ import annotations

import json
import os
import subprocess
from collections.abc import Mapping
from pathlib import Path

import pytest

HOME = Path(__file__).parent / "html_validator"
VALIDATOR = HOME / "node_modules" / ".bin" / "html-validate"


def content_model_faults(pages: Mapping[str, str], folder: Path) -> list[str]:
    """Return what the validator finds in pages, by name; skip the test where it is not installed.

    Parameters
    ----------
    folder : Path
        Where the pages are written for it.
    """
    if not VALIDATOR.exists():
        if os.environ.get("ROUNDPLAN_HTML_VALIDATOR") == "required":
            pytest.fail("html-validate is not installed, but ROUNDPLAN_HTML_VALIDATOR=required")
        pytest.skip("html-validate is not installed: npm ci --prefix tests/html_validator")
    for name, page in pages.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(page, encoding="utf-8")
    settings = str(HOME / ".htmlvalidate.json")
    command = [str(VALIDATOR), "--config", settings, "--formatter", "json", *sorted(pages)]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode in (0, 1), done.stderr
    return [
        f"{Path(file['filePath']).relative_to(folder.resolve())}:{found['line']}: {found['ruleId']}: {found['message']}"
        for file in json.loads(done.stdout)
        for found in file["messages"]
    ]
