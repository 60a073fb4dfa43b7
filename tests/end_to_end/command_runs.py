"""Runs the commands as people do, in processes of their own, and looks at what they leave behind."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "inputs_demo"
PROGRAM = (sys.executable, "-m", "roundplan")
TRACEBACK = "Traceback (most recent call last)"
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", "PYTHONWARNINGS": "error"}


@dataclass(frozen=True)
class Run:
    """How a command ended and what it said; no command may ever show a traceback."""

    code: int
    said: str
    complained: str

    def __post_init__(self) -> None:
        assert TRACEBACK not in self.said + self.complained, self.complained


def run(*arguments: object, cwd: Path | None = None, timeout: float = 120) -> Run:
    """Run a command to its end."""
    done = subprocess.run(
        [*PROGRAM, *map(str, arguments)],
        capture_output=True,
        encoding="utf-8",
        env=ENVIRONMENT,
        cwd=cwd,
        timeout=timeout,
    )
    return Run(done.returncode, done.stdout, done.stderr)


def start(*arguments: object) -> subprocess.Popen[str]:
    """Start a command whose progress can be read line by line."""
    return subprocess.Popen(
        [*PROGRAM, *map(str, arguments)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        env=ENVIRONMENT,
    )


def tree(folder: Path) -> dict[str, str]:
    """Return a digest of every file below a folder, hidden ones too; equal trees are equal to the byte."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
