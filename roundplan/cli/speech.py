"""How the command line speaks: lines on the terminal, exit codes, options that several commands share."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from enum import IntEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from roundplan.domain.counts import counted


class Exit(IntEnum):
    """How a command ends."""

    DONE = 0
    OUR_BUG = 1
    USAGE = 2
    FINDINGS = 3
    IMPOSSIBLE = 4
    TIME_RAN_OUT = 5
    BREACH = 6
    STOPPED = 130


Inputs = Annotated[Path, typer.Argument(metavar="INPUTS", help="Folder of tables with round.toml, or a workbook.")]
Out = Annotated[Path, typer.Argument(metavar="OUT", help="Folder that a plan was written to.")]
Who = Annotated[str | None, typer.Option("--who", metavar="NAME", help="Who does this; else the user of the machine.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show technical details if the program fails.")]


def given(text: str | None) -> str | None:
    """Return what was given for an option; blank text is taken for none."""
    return (text or "").strip() or None


def waits() -> None:
    """Say that another command has to be waited for."""
    complain("Another command is writing there; waiting for it to end.")


@contextmanager
def kept_when_stopped() -> Iterator[None]:
    """End with the words of Ctrl-C where several plans are searched for."""
    try:
        yield
    except KeyboardInterrupt:
        complain("Stopped. Plans that are finished are kept; give the same command again to go on from there.")
        raise typer.Exit(Exit.STOPPED) from None


def list_lines(noun: str, lines: Iterable[str], what: str, stream: Any, *, one: str | None = None) -> None:
    """Print lines under their number and what follows from them; ``one`` is that of a single line."""
    found = list(lines)
    if found:
        say(f"{counted(len(found), noun)}; {one if one and len(found) == 1 else what}:", stream)
    for line in found:
        say(f"  {line}", stream)


def say(text: str, stream: Any = None) -> None:
    """Print one line; a character that the terminal does not know, or must not see, is written as its code."""
    target = stream or sys.stdout
    shown = "".join(c if c.isprintable() else c.encode("unicode_escape", "surrogatepass").decode() for c in text)
    encoding = getattr(target, "encoding", None) or "utf-8"
    print(shown.encode(encoding, "backslashreplace").decode(encoding), file=target)


def complain(text: str) -> None:
    """Print one line to standard error."""
    say(text, sys.stderr)


def say_documents(documents: Sequence[str], version: int) -> None:
    """Say which of the readers' documents are to be given out."""
    if version == 1:
        say(f"Hand them out: {counted(len(documents), 'document')}, each to its own reader.")
        return
    said = counted(len(documents), "document")
    say(f"To be handed out again, new or changed: {said}. All others are as readers have them.")
    for path in documents:
        say(f"  {path}")
