"""What the tasks of these tests do. They leave files behind, from which a test knows what has happened."""

from __future__ import annotations

import json
import os
import signal
import time
from functools import lru_cache
from pathlib import Path
from typing import Any

from roundplan.tasks import Shared, Stopped, Task, stopping

PATIENCE = 60.0
"""Seconds after which a test that waits in vain gives up; tasks wait longer, so that no test passes on that."""


def task(function: str, folder: Path | str = "", shared: Shared | None = None, **more: Any) -> Task:
    """Return a task for a function of this module."""
    payload = json.dumps({"folder": str(folder), **more}, sort_keys=True).encode()
    return Task(f"task_functions:{function}", payload, shared)


def calls(folder: Path) -> list[str]:
    """Return the names that were noted, one for each call."""
    file = folder / "calls"
    return file.read_text().split() if file.exists() else []


def appears(path: Path, patience: float = PATIENCE) -> None:
    """Wait until somebody makes a file."""
    until = time.monotonic() + patience
    while not path.exists():
        assert time.monotonic() < until, f"{path.name} never appeared"
        time.sleep(0.01)


def let_go(path: Path) -> None:
    """Wait until no process holds a file's lock; one that is killed holds it no more."""
    import fcntl

    until = time.monotonic() + PATIENCE
    with path.open() as file:
        while True:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
                return
            except BlockingIOError:
                assert time.monotonic() < until, f"{path.name} is still held"
                time.sleep(0.01)


def _noted(payload: bytes) -> tuple[Path, dict[str, Any]]:
    given = json.loads(payload)
    folder = Path(given["folder"])
    with (folder / "calls").open("a") as file:
        file.write(f"{given['name']}\n")
    return folder, given


def echo(payload: bytes) -> bytes:
    """Note the call and return the name in capitals."""
    return str(_noted(payload)[1]["name"]).upper().encode()


def where(payload: bytes) -> bytes:
    """Return the number of the process."""
    return str(os.getpid()).encode()


def held(payload: bytes) -> bytes:
    """Say that it has begun, hold a lock, and wait for a file before returning the name in capitals."""
    import fcntl

    folder, given = _noted(payload)
    name = given["name"]
    with (folder / f"{name}.lock").open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        (folder / f"{name}.begun").touch()
        appears(folder / given["until"], 3 * PATIENCE)
    return str(name).upper().encode()


def killed_once(payload: bytes) -> bytes:
    """Be killed in the middle of the first call; return the name in capitals from the second."""
    folder, given = _noted(payload)
    name = given["name"]
    if calls(folder).count(name) == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    (folder / f"{name}.again").touch()
    return str(name).upper().encode()


def killed_always(payload: bytes) -> bytes:
    """Be killed in the middle of every call."""
    _noted(payload)
    os.kill(os.getpid(), signal.SIGKILL)
    return b""


def interrupted(payload: bytes) -> bytes:
    """Get Ctrl-C's signal."""
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(0.01)
    return b"went on"


def patient(payload: bytes) -> bytes:
    """Work until told to stop, then return what there is, or nothing."""
    folder, given = _noted(payload)
    (folder / f"{given['name']}.begun").touch()
    until = time.monotonic() + 3 * PATIENCE
    while not stopping():
        assert time.monotonic() < until, "never told to stop"
        time.sleep(0.01)
    if given.get("empty"):
        raise Stopped
    return b"so far"


def told(payload: bytes) -> bytes:
    """Return whether it was told to stop."""
    return b"yes" if stopping() else b"no"


def fails(payload: bytes) -> bytes:
    """Raise."""
    raise ValueError("no such crew")


def no_bytes(payload: bytes) -> Any:
    """Return what a task must not."""
    return "text"


@lru_cache(maxsize=2)
def _decoded(shared: Shared, folder: str) -> str:
    _noted(json.dumps({"folder": folder, "name": f"decoded-{shared.data[:1].decode()}"}).encode())
    return shared.data.decode()


def reads_shared(payload: bytes, shared: Shared) -> bytes:
    """Return something of the shared data, which are decoded once a process."""
    given = json.loads(payload)
    return f"{given['name']}: {_decoded(shared, given['folder'])[:1]} {len(shared.data)}".encode()
