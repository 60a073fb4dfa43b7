from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundplan.handouts import write
from roundplan.handouts.file_names import file_names, slug

LAST_STEP = {"exchange": 11, "renames": 12}
"""Exchange or renames, then the removal of the earlier folder with its files, each a step."""
OURS = frozenset({"plan.json", "pages"})


def fill(folder: Path, mark: str) -> None:
    (folder / "plan.json").write_text(mark)
    (folder / "pages").mkdir()
    for number in range(5):
        (folder / "pages" / f"{number}.html").write_text(mark * 100)


def put(out: Path, mark: str) -> None:
    with write.replacing(out, OURS) as fresh:
        fill(fresh, mark)


def state(out: Path) -> str:
    """Return the mark of a whole output; fail on a mixed or partial one."""
    files = [out / "plan.json", *(out / "pages" / f"{number}.html" for number in range(5))]
    marks = {file.read_text()[0] for file in files}
    assert len(marks) == 1
    assert all(len(file.read_text()) == 100 for file in files[1:])
    return marks.pop()


@pytest.fixture(params=["exchange", "renames"])
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    if request.param == "renames":
        monkeypatch.setattr(write, "_exchange", lambda one, other: False)
    return str(request.param)


def test_a_folder_is_made_then_replaced_and_what_others_put_there_stays(tmp_path: Path, way: str) -> None:
    out = tmp_path / "deep" / "OUT"
    put(out, "a")
    (out / "notes").mkdir()
    (out / "notes" / "mine.txt").write_text("mine")
    (out / "link").symlink_to("notes")
    put(out, "b")
    assert state(out) == "b"
    assert (out / "notes" / "mine.txt").read_text() == "mine"
    assert (out / "link").is_symlink()
    assert os.listdir(out.parent) == ["OUT"]


@pytest.mark.parametrize("step", range(16))
def test_stopped_at_any_step_the_earlier_output_or_the_new_is_whole(
    tmp_path: Path, way: str, step: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every rename and removal in turn is the last thing that happens; then the next run starts."""
    out = tmp_path / "OUT"
    put(out, "a")
    left = step

    class Stop(BaseException):
        pass

    def counted(real: object) -> object:
        def call(*args: object, **more: object) -> object:
            nonlocal left
            if left == 0:
                raise Stop
            left -= 1
            return real(*args, **more)  # type: ignore[operator]

        return call

    with monkeypatch.context() as patch:
        for module, name in ((os, "rename"), (shutil, "rmtree"), (os, "unlink"), (os, "rmdir")):
            patch.setattr(module, name, counted(getattr(module, name)))
        if way == "exchange":
            patch.setattr(write, "_exchange", counted(write._exchange))
        stopped = False
        try:
            put(out, "b")
        except Stop:
            stopped = True
    assert stopped == (step < LAST_STEP[way])
    write.recover(out)
    assert state(out) in "ab"
    assert os.listdir(tmp_path) == ["OUT"]
    put(out, "c")
    assert state(out) == "c"


WRITER = """
import sys
from pathlib import Path
from roundplan.handouts import write
if sys.argv[2] == "renames":
    write._exchange = lambda one, other: False
print("ready", flush=True)
for turn in range(10**6):
    with write.replacing(Path(sys.argv[1]), frozenset({"plan.json", "pages"})) as fresh:
        mark = "xy"[turn % 2]
        (fresh / "plan.json").write_text(mark)
        (fresh / "pages").mkdir()
        for number in range(5):
            (fresh / "pages" / f"{number}.html").write_text(mark * 100)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
@pytest.mark.parametrize("way", ["exchange", "renames"])
def test_killed_at_a_random_moment_the_output_is_whole(tmp_path: Path, way: str) -> None:
    out = tmp_path / "OUT"
    put(out, "a")
    chance = random.Random(7)
    for _ in range(12):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(out), way], stdout=subprocess.PIPE, cwd=Path(write.__file__).parents[2]
        )
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"ready\n"
        time.sleep(chance.uniform(0.001, 0.06))
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
        if way == "exchange" and write._exchange(tmp_path, tmp_path):
            assert state(out) in "axy"  # whole even before anything is put right
        write.recover(out)
        assert state(out) in "axy"
        assert os.listdir(tmp_path) == ["OUT"]


def test_an_exception_while_building_leaves_the_earlier_output(tmp_path: Path) -> None:
    out = tmp_path / "OUT"
    put(out, "a")

    def break_off() -> None:
        with write.replacing(out, OURS) as fresh:
            (fresh / "plan.json").write_text("b")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        break_off()
    assert state(out) == "a"
    assert os.listdir(tmp_path) == ["OUT"]


def test_folders_that_are_not_for_outputs_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "work" / "here").mkdir(parents=True)
    (tmp_path / "file").write_text("x")
    monkeypatch.chdir(tmp_path / "work" / "here")
    for refused in (Path("."), Path(".."), Path("/"), tmp_path / "file"):
        with pytest.raises(write.NotOurs):
            write.check_target(refused)
    assert write.check_target(Path("OUT")) == tmp_path / "work" / "here" / "OUT"


def test_a_text_is_replaced_as_a_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "plan.json"
    write.write_text_atomically(path, "é\n")
    assert path.read_bytes() == "é\n".encode()

    def stop(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(OSError, match="disk full"):
        write.write_text_atomically(path, "new")
    assert path.read_text() == "é\n"


@given(st.lists(st.text(max_size=300), max_size=8))
def test_file_names_are_safe_and_no_two_alike(codes: list[str]) -> None:
    names = file_names(codes)
    assert set(names) == set(codes)
    folded = {name.casefold() for name in names.values()}
    assert len(folded) == len(names)
    for name in names.values():
        assert name
        assert len(name.encode("utf-8", "replace")) <= 100
        assert not set(name) & set('/\\:*?"<>|.\0\n ')
        assert not name.startswith("-")


@pytest.mark.parametrize(
    ("code", "name"),
    [
        ("../../etc/passwd", "etc-passwd"),
        ("..", "unnamed"),
        ("C:\\x", "C-x"),
        ("nul", "nul-1"),
        ("KAM", "KAM"),
        ("ሀለ", "ሀለ"),
    ],
)
def test_hostile_codes_stay_within_the_folder(code: str, name: str) -> None:
    assert slug(code) == name


def test_codes_that_differ_in_case_alone_get_two_names() -> None:
    assert file_names(["a", "A", "a/", "a-2"]) == {"a": "a", "A": "A-2", "a/": "a-3", "a-2": "a-2-2"}
