"""Whatever the bytes, the answer is a round or findings, never a traceback."""

from __future__ import annotations

import contextlib
import io
import tempfile
import zipfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from intake_small_inputs import SMALL, TOML, csv_of, findings_of, spoilt, write
from test_intake_workbook import workbook

from roundplan.intake.cleaning import clean
from roundplan.intake.columns import TABLES
from roundplan.intake.finding import BadCell
from roundplan.intake.kinds import Kind
from roundplan.intake.setting_kinds import KINDS

CHEAP = settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
NASTY = st.sampled_from(
    ["", "nan", "inf", "-inf", "1e400", "9" * 5000, "0x10", "١٢", "１２", "2027-02-29", "0000-00-00", "24:00", "24:01",
     "99999-01-01", "31/02", "2/30/2027", "MO;;TU", ";", "/", "//", "2027-01-01/", "=cmd|' /C calc'!A0", "\x00",
     "\ud7ff", "﷽", "\u202e", "-", "+", "'", "''='", "yes no", "anaesthetist;" * 200, "12345", "1 2",
     "1,2,3", "%", "5%", "none"]
)  # fmt: skip
CELL = NASTY | st.text(max_size=40)


@CHEAP
@given(
    st.sampled_from([k for t in TABLES for c in t.columns for k in [c.kind]]),
    CELL.map(clean).filter(bool),
    st.integers(0, 4),
)
def test_kinds_read_or_refuse(kind: Kind, text: str, digits: int) -> None:
    with contextlib.suppress(BadCell):
        value = kind.read(text, digits)
        assert kind.read(kind.write(value, digits), digits) == value


@CHEAP
@given(st.data())
def test_any_cell(data: st.DataObject) -> None:
    table = data.draw(st.sampled_from([t for t in TABLES if t.name in SMALL]))
    column = data.draw(st.sampled_from(table.columns))
    with tempfile.TemporaryDirectory() as folder:
        findings_of(write(Path(folder), spoilt(table.name, 2, column.name, data.draw(CELL))))


@CHEAP
@given(st.sampled_from(sorted(SMALL)), st.binary(max_size=200), st.integers(0, 400))
def test_any_bytes_in_a_table(name: str, junk: bytes, at: int) -> None:
    data = csv_of(SMALL[name]).encode()
    with tempfile.TemporaryDirectory() as folder:
        write(Path(folder))
        (Path(folder) / f"{name}.csv").write_bytes(data[:at] + junk + data[at:])
        findings_of(Path(folder))


TOML_VALUE = st.recursive(
    st.booleans().map(lambda b: "true" if b else "false")
    | st.integers().map(str)
    | st.floats().map(repr)
    | st.sampled_from(["2027-02-01", "08:30:00", "2027-02-01T08:00:00Z", "0x" + "f" * 5000, '"x"', "inf"]),
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda parts: "[" + ", ".join(parts) + "]")
        | st.lists(inner, max_size=2).map(lambda ps: "{" + ", ".join(f"k{n} = {p}" for n, p in enumerate(ps)) + "}")
    ),
    max_leaves=5,
)


@CHEAP
@given(st.sampled_from([(s, k) for s, keys in KINDS.items() for k in keys]), TOML_VALUE)
def test_any_value_of_a_key(key: tuple[str, str], value: str) -> None:
    section, name = key
    lines = [line for line in TOML.splitlines() if not line.startswith(f"{name} =")]
    if f"[{section}]" not in lines:
        lines.append(f"[{section}]")
    lines.insert(lines.index(f"[{section}]") + 1, f"{name} = {value}")
    with tempfile.TemporaryDirectory() as folder:
        findings_of(write(Path(folder), toml="\n".join(lines)))


@CHEAP
@given(st.text(max_size=60) | st.sampled_from(["a = " + "[" * 5000, "round = 5", "[round.name]\nx = 1", "[[round]]\n"]))
def test_any_settings_file(text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        write(Path(folder))
        (Path(folder) / "round.toml").write_bytes(text.encode("utf-8", "surrogatepass"))
        findings_of(Path(folder))


def _book() -> dict[str, bytes]:
    out = io.BytesIO()
    workbook().save(out)
    with zipfile.ZipFile(out) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


PARTS = _book()


@CHEAP
@given(st.sampled_from(sorted(PARTS)), st.integers(0, 1200), st.integers(0, 30), st.binary(max_size=20))
def test_any_damage_to_a_workbook(part: str, at: int, gone: int, junk: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "round.toml").write_text(TOML)
        with zipfile.ZipFile(Path(folder) / "tables.xlsx", "w") as archive:
            for name, data in PARTS.items():
                archive.writestr(name, data[:at] + junk + data[at + gone :] if name == part else data)
        findings_of(Path(folder))
