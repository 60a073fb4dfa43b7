"""Files that came back broken, by accident or on purpose: findings, never a traceback, and nothing taken wrongly."""

from __future__ import annotations

import io
import random
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from told_rounds import ALL_WELL, fill, take

from roundplan.followup import opening
from roundplan.followup.received import File, read_file

Change = Callable[[bytes, random.Random], bytes]


def parts(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def packed(entries: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return out.getvalue()


def cut(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(len(data))]


def flipped(data: bytes, chance: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(chance.randint(1, 30)):
        changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def inside(data: bytes, chance: random.Random) -> bytes:
    """Change bytes within a part and pack it anew, so that the archive itself is sound."""
    entries = parts(data)
    name = chance.choice(sorted(entries))
    entries[name] = chance.choice((cut, flipped))(entries[name] or b" ", chance)
    return packed(entries)


def lacking(data: bytes, chance: random.Random) -> bytes:
    entries = parts(data)
    del entries[chance.choice(sorted(entries))]
    return packed(entries)


def exchanged(data: bytes, chance: random.Random) -> bytes:
    entries = parts(data)
    one, other = chance.sample(sorted(entries), 2)
    entries[one], entries[other] = entries[other], entries[one]
    return packed(entries)


def far_away(data: bytes, chance: random.Random) -> bytes:
    """Move cells to the far end of the sheet."""
    entries = parts(data)
    name = chance.choice([n for n in entries if n.startswith("xl/worksheets/sheet")])
    row = str(chance.choice([19_000, 400_000, 1_048_576, 99_999_999])).encode()
    entries[name] = (
        entries[name].replace(b'r="6"', b'r="' + row + b'"', 1).replace(b'r="A6"', b'r="XFD' + row + b'"', 1)
    )
    return packed(entries)


def other_coding(data: bytes, chance: random.Random) -> bytes:
    text = "C1U yes\nC2W nein ärgerlich\nC3Y \x00 yes\n"
    return text.encode(chance.choice(["utf-16", "utf-16-le", "latin-1", "utf-32", "cp037", "utf-8-sig"]))


def noise(data: bytes, chance: random.Random) -> bytes:
    head = chance.choice(
        [b"", b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"code,reply\n", b"C1U yes\n", b'code,reply\n"', b"C"]
    )
    return head + chance.randbytes(chance.randrange(3_000))


CHANGES = (cut, flipped, inside, lacking, exchanged, far_away, other_coding, noise)


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_changed_files_are_read_or_refused(
    change: Change, announced_once: Path, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    """Forty of each kind; whatever is read of them has been written by the reader's own rules."""
    data = fill(announced_once / "slips" / "GAMA.xlsx", tmp_path / "whole.xlsx", ALL_WELL).read_bytes()
    refused = 0
    for seed in range(40):
        chance = random.Random(f"{change.__name__} {seed}")
        path = tmp_path / "back.xlsx"
        path.write_bytes(change(data, chance))
        file = read_file(path)
        assert isinstance(file, File)
        assert file.findings or file.heard, "silence would hide what somebody sent"
        refused += bool(file.findings)
    assert refused


def test_changed_files_beside_a_sound_one_keep_nothing_from_being_taken(announced: Path, tmp_path: Path) -> None:
    sound = fill(announced / "slips" / "GAMA.xlsx", tmp_path / "sound.xlsx", ALL_WELL)
    files = []
    for number in range(40):
        chance = random.Random(f"beside {number}")
        path = tmp_path / f"{number}.xlsx"
        path.write_bytes(CHANGES[number % len(CHANGES)](sound.read_bytes(), chance))
        files.append(path)
    done = take(announced, *files[:20], sound, *files[20:])
    assert any("Gama Clinic: 2 seats: 2 confirmed" in line for line in done.told)
    assert len(done.findings) > 10


def test_a_bomb_is_not_unpacked(tmp_path: Path) -> None:
    bomb = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("xl/workbook.xml", "w") as part:
        for _ in range(100):
            part.write(bytes(1_000_000))
    (finding,) = read_file(bomb).findings
    assert "unpacks to more than 64 MB" in str(finding)
    bomb.write_bytes(packed({f"{number}": b"" for number in range(opening.MOST_PARTS + 1)}))
    assert "2000 parts" in str(read_file(bomb).findings[0])


MEMORY = """
import re, sys
from pathlib import Path
from roundplan.followup.received import read_file
file = read_file(Path(sys.argv[1]))
print(len(file.heard), int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]) // 1024)
"""


def test_the_largest_that_is_unpacked_stays_within_memory(announced_once: Path, tmp_path: Path) -> None:
    """Within 500 MB, in a process of its own: cells that nearly fill the bound."""
    entries = parts(fill(announced_once / "slips" / "GAMA.xlsx", tmp_path / "back.xlsx", ALL_WELL).read_bytes())
    name = "xl/worksheets/sheet1.xml"
    many = b'<row><c t="inlineStr"><is><t>' + b"x" * 32_000 + b"</t></is></c></row>"
    room = opening.MOST_UNPACKED - sum(map(len, entries.values())) - 1_000
    entries[name] = entries[name].replace(b"</sheetData>", many * (room // len(many)) + b"</sheetData>")
    path = tmp_path / "large.xlsx"
    path.write_bytes(packed(entries))
    done = subprocess.run([sys.executable, "-c", MEMORY, str(path)], capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    heard, megabytes = map(int, done.stdout.split())
    assert heard > 0
    assert megabytes < 500


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({("Who goes", "S6"): '=IF(1,"yes")'}, "holds a formula that was never computed"),
        ({("Who goes", "U6"): "x" * 32_000}, "this remark has 32,000 letters; the first 2,000 are kept"),
        ({("Cover confirmed", "H6"): "x" * 300}, "this has 300 letters where 200 are enough"),
        ({("Cover confirmed", "I6"): "1 June"}, "a time stands here, but nobody who confirms"),
    ],
)
def test_odd_cells_are_findings_with_places(
    announced: Path, filled: Callable[..., Path], cells: dict[tuple[str, str], str], words: str
) -> None:
    done = take(announced, filled({**ALL_WELL, **cells}))
    ((sheet, cell),) = cells
    assert words in done.findings[0]
    assert done.findings[0].startswith(f"back.xlsx, sheet {sheet}, row {cell[1:]}, column ")
    assert any("Name of GAMA-N1" not in line for line in done.told)


def test_merged_cells_count_for_their_first_row(announced: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(announced / "slips" / "GAMA.xlsx")
    book["Who goes"]["S6"] = "yes"
    book["Who goes"].merge_cells("S6:S8")
    book.save(tmp_path / "merged.xlsx")
    done = take(announced, tmp_path / "merged.xlsx")
    assert done.taken == 1
    assert any("Gama Clinic: 2 seats: 1 confirmed, 1 asked" in line for line in done.told)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"Good morning.\n" * 60, "holds no reply"),
        (b"\xd0\xcf\x11\xe0" + bytes(600), "is locked with a password or an old .xls workbook"),
        (b"PK\x03\x04 and no more", "is not an .xlsx workbook, or is damaged"),
        (b"C1U yes " + b"a" * 600, "this line is longer than 500 letters"),
        (b"code,reply\nC1U," + b"y" * 200_000 + b"\n", "cannot be read from here on"),
        ("C1U yes ä".encode("latin-1"), "is not UTF-8"),
        ("C1U yes".encode("utf-16"), "is UTF-16, not UTF-8"),
    ],
)
def test_each_fault_is_named(tmp_path: Path, data: bytes, words: str) -> None:
    path = tmp_path / "back"
    path.write_bytes(data)
    assert words in " ".join(map(str, read_file(path).findings))


def test_folders_and_files_out_of_bounds(tmp_path: Path) -> None:
    large = tmp_path / "large.txt"
    with large.open("wb") as file:
        file.truncate(opening.MOST_BYTES + 1)
    assert "is larger than 20 MB" in str(read_file(large).findings[0])
    assert "there is no file" in str(read_file(tmp_path).findings[0])
    lines = tmp_path / "lines.txt"
    lines.write_text("C1U yes\n" * (opening.MOST_ROWS + 5))
    assert f"has more than {opening.MOST_ROWS:,} lines" in str(read_file(lines).findings[0])
