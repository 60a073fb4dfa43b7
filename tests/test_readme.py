"""README.md, CHANGELOG.md and .ci/run say what the code does: tables, exit codes, commands, example, pictures."""

from __future__ import annotations

import os
import re
import struct
import subprocess
import sys
from pathlib import Path

import pytest
import rounds

import roundplan
from roundplan import cli
from roundplan.domain.settings import setting_rows
from roundplan.handouts.folder import OWN_NAMES
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.intake import guide_markdown, write_round
from roundplan.intake.columns import TABLES

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
MAIN_JOB, ALL_TESTS = re.findall(r"^python3 -m venv .*$", README, flags=re.M)
"""The two commands that set everything up."""


def flat(text: str) -> str:
    return " ".join(text.split())


def test_the_generated_parts_are_what_the_code_says() -> None:
    assert guide_markdown.renewed(README) == README, "run: python -m roundplan.intake.guide_markdown README.md"
    for row in setting_rows():
        assert f"| `[{row.section}]` | `{row.key}` | " in README
    for table in TABLES:
        assert f"| `{table.name}` | " in README


def test_a_part_that_is_out_of_date_is_renewed_and_the_rest_stays(tmp_path: Path) -> None:
    file = tmp_path / "guide.md"
    file.write_text(README.replace("earliest start of a session", "something else"), encoding="utf-8")
    guide_markdown.main([str(file)])
    assert file.read_text(encoding="utf-8") == README


@pytest.mark.parametrize("wrong", ["", "<!-- tables: end --><!-- tables: begin -->", README + "<!-- tables: end -->"])
def test_marks_that_are_missing_or_doubled_are_refused(wrong: str) -> None:
    with pytest.raises(ValueError, match="tables: begin"):
        guide_markdown.renewed(wrong)


def test_cells_show_as_they_stand() -> None:
    assert guide_markdown._plain("a|b <c> *d*") == r"a\|b \<c\> \*d\*"
    for part in (guide_markdown.tables_part(), guide_markdown.settings_part()):
        columns = {len(re.findall(r"(?<!\\)\|", line)) for line in part.splitlines()}
        assert len(columns) == 1


def test_exit_codes_are_those_of_the_commands() -> None:
    said = dict(re.findall(r"^\| (\d) \| (.+?) \|$", README, flags=re.M))
    assert said == dict(re.findall(r"(\d) ([^;.]+)[;.]", cli.EPILOG))
    assert {int(code) for code in said} | {130} == {int(code) for code in cli.Exit}
    assert "ends with 130" in flat(README)


def test_every_output_is_explained() -> None:
    first_cells = re.findall(r"^\| `([^`]+)` \|", README, flags=re.M)
    named = {cell.split("/")[0] for cell in first_cells}
    assert named >= OWN_NAMES


def test_the_safety_lines_are_those_of_the_documents() -> None:
    text = flat(README)
    # a host's sheet has a shorter form of the trainers' line about ward and relatives
    hosts_own = set(safety_lines(Reader.FACILITY, hosts=True)) - set(safety_lines(Reader.FACILITY))
    lines = {line for reader in Reader for line in safety_lines(reader)} | {
        line for line in hosts_own if not line.startswith("Ward, ")
    }
    assert len(lines) > 8
    for line in lines:
        assert line in text


def test_the_gate_runs_the_two_commands_letter_by_letter() -> None:
    assert MAIN_JOB.endswith("roundplan plan inputs_demo --out outputs/demo")
    gate = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert gate.index(MAIN_JOB) < gate.index(ALL_TESTS) == len(gate) - 1
    assert "set -euo pipefail" in gate
    assert "export ROUNDPLAN_BROWSER=required" in gate


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps no mark for files that run")
def test_the_gate_can_be_run() -> None:
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


def test_the_python_example_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As it stands, on a tiny round in place of the demo."""
    (example,) = re.findall(r"^```python\n(.*?)^```", README, flags=re.M | re.S)
    write_round(rounds.tiny_round(), tmp_path / "inputs_demo")
    monkeypatch.chdir(tmp_path)
    exec(compile(example, "README.md", "exec"), {"__name__": "example"})
    said = capsys.readouterr().out.splitlines()
    assert said[-1] == "2 teams with guests, 2 without"
    assert said[:-1]
    assert (tmp_path / "outputs" / "from_python" / "report.html").is_file()


def test_links_lead_somewhere_and_pictures_are_small() -> None:
    targets = re.findall(r"\]\(([^)]+)\)", README)
    assert len(targets) == 5
    pictures = [ROOT / target for target in targets if target.endswith(".png")]
    assert all((ROOT / target).is_file() for target in targets)
    assert sorted((ROOT / ".pictures").glob("*.png")) == sorted(pictures)
    for picture in pictures:
        content = picture.read_bytes()
        width, height = struct.unpack(">II", content[16:24])  # the header of a PNG file (ISO/IEC 15948, from memory)
        assert content.startswith(b"\x89PNG")
        assert (600 <= width <= 1200, 600 <= height <= 1200) == (True, True)
        assert len(content) < 200_000


def test_it_runs_as_a_module() -> None:
    done = subprocess.run([sys.executable, "-m", "roundplan", "--help"], capture_output=True, text=True, cwd=ROOT)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("Usage: roundplan ")


def test_the_changelog_knows_this_version() -> None:
    changes = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert re.findall(r"^## .*$", changes, flags=re.M)[0] in ("## Unreleased", f"## {roundplan.__version__}")
    assert f"## {roundplan.__version__}" in changes or "## Unreleased" in changes
    lines = [line for line in changes.splitlines() if line and not line.startswith(("#", "- "))]
    assert lines == ["One line a change; the newest stands first."], "a change is one line that starts with a dash"
