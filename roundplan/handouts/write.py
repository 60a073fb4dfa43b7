"""Writing to disk so that an interrupted run leaves what was there before.

A folder is built whole as a hidden sibling, ``.NAME.new``, and then swapped in. Where the system can exchange two
names in one step, that is the swap. Otherwise the earlier folder is renamed to ``.NAME.old``, the new one renamed in
and the earlier one removed under a third name, ``.NAME.gone``. What an interruption leaves behind is put right by
:func:`recover`, at the latest when the folder is next written or read:

=================  ==============  ==========================================================
``NAME``           ``.NAME.old``   meaning, and what is done
=================  ==============  ==========================================================
is there           is there        the new one is in: the earlier one goes
is missing         is there        stopped between the renames: the earlier one comes back
either             is missing      ``.NAME.new`` is unfinished, or was swapped out: it goes
=================  ==============  ==========================================================
"""

from __future__ import annotations

import ctypes
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_RENAME_EXCHANGE = 2
_AT_FDCWD = -100


class NotOurs(ValueError):
    """A folder that must not be replaced; the text says why in plain words."""


def write_bytes_atomically(path: Path, content: bytes) -> None:
    """Write a file so that readers see the earlier content or the new, never a part."""
    unfinished = path.with_name(f".{path.name}.new")
    with unfinished.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    os.replace(unfinished, path)
    _settle(path.parent)


def write_text_atomically(path: Path, text: str) -> None:
    """Write UTF-8 text so that readers see the earlier content or the new, never a part."""
    write_bytes_atomically(path, text.encode("utf-8"))


@contextmanager
def replacing(folder: Path, ours: frozenset[str], waits: Callable[[], None] | None = None) -> Iterator[Path]:
    """Yield an empty folder to fill; swap it in for ``folder`` at the end, and not at all after an exception.

    Parameters
    ----------
    folder : Path
        Folder to make or to replace; its parents are made.
    ours : frozenset of str
        Names at the top of the folder that belong to the program. Anything else that lies there is kept.
    waits : callable, optional
        Called once if another run has to be waited for.

    Raises
    ------
    NotOurs
        If it is no folder, or the folder that the program runs in, or one above that.
    """
    target = check_target(folder)
    target.parent.mkdir(parents=True, exist_ok=True)
    with alone(target.parent, waits):
        _recover(target)
        fresh = _beside(target, "new")
        fresh.mkdir()
        try:
            yield fresh
            _keep_foreign(target, fresh, ours)
            _settle_all(fresh)
        except BaseException:
            shutil.rmtree(fresh, ignore_errors=True)
            raise
        _swap(fresh, target)


def check_target(folder: Path) -> Path:
    """Return the folder with links resolved, refused if it must not be replaced as a whole."""
    target = _resolved(folder)
    if target.exists() and not target.is_dir():
        raise NotOurs(f"{folder} is a file; name a folder for the outputs")
    if target == target.parent or Path.cwd().is_relative_to(target):
        raise NotOurs(f"{folder} is the folder you work in, or one above it; name a folder of its own for the outputs")
    return target


def _resolved(folder: Path) -> Path:
    try:
        return folder.resolve()
    except RuntimeError:
        raise NotOurs(f"{folder} is a link that leads back to itself; name a folder for the outputs") from None


def check_writable(target: Path) -> None:
    """Raise what keeps a folder from being made or replaced, before any work goes into its content.

    Raises
    ------
    NotOurs
        If the folder is a mount of its own, which cannot be swapped.
    OSError
        If nothing can be written beside it.
    """
    if os.path.ismount(target):
        raise NotOurs(f"{target} is a disk of its own and cannot be replaced; name a folder in it for the outputs")
    beside = next(folder for folder in target.parents if folder.exists())
    try:
        with tempfile.TemporaryDirectory(prefix=".", dir=beside):
            return
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(beside)) from error


def recover(folder: Path, waits: Callable[[], None] | None = None) -> None:
    """Put right what an interrupted run left beside a folder; does nothing otherwise.

    Parameters
    ----------
    waits : callable, optional
        Called once if another run has to be waited for.
    """
    target = _resolved(folder)
    if target.parent.is_dir():
        with alone(target.parent, waits):
            _recover(target)


def _recover(target: Path) -> None:
    earlier = _beside(target, "old")
    if earlier.exists():
        if target.exists():
            _remove(earlier, target)
        else:
            os.rename(earlier, target)
    for leftover in (_beside(target, "new"), _beside(target, "gone")):
        if leftover.exists():
            shutil.rmtree(leftover)


def _swap(fresh: Path, target: Path) -> None:
    if not target.exists():
        os.rename(fresh, target)
    elif _exchange(fresh, target):
        _remove(fresh, target)
    else:
        earlier = _beside(target, "old")
        os.rename(target, earlier)
        os.rename(fresh, target)
        _remove(earlier, target)
    _settle(target.parent)


def _remove(earlier: Path, target: Path) -> None:
    """Remove a folder under a name by which no part of it is ever taken for the earlier output."""
    gone = _beside(target, "gone")
    if gone.exists():
        shutil.rmtree(gone)
    os.rename(earlier, gone)
    shutil.rmtree(gone)


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two names in one step, where the system can; tells whether it did."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        call = ctypes.CDLL(None, use_errno=True).renameat2
    except AttributeError:
        return False
    done = call(_AT_FDCWD, os.fsencode(one), _AT_FDCWD, os.fsencode(other), _RENAME_EXCHANGE)
    return bool(done == 0)


def _keep_foreign(target: Path, fresh: Path, ours: frozenset[str]) -> None:
    """Carry over what somebody else put into the folder."""
    if not target.exists():
        return
    for entry in sorted(target.iterdir()):
        if entry.name in ours:
            continue
        if entry.is_dir() and not entry.is_symlink():
            shutil.copytree(entry, fresh / entry.name, symlinks=True)
        else:
            shutil.copy2(entry, fresh / entry.name, follow_symlinks=False)


def _beside(target: Path, kind: str) -> Path:
    return target.with_name(f".{target.name}.{kind}")


@contextmanager
def alone(parent: Path, waits: Callable[[], None] | None = None) -> Iterator[None]:
    """Wait until no other run writes in or swaps folders under the same parent, where the system can tell.

    Parameters
    ----------
    parent : Path
        Folder that holds the folders of outputs.
    waits : callable, optional
        Called once if another run has to be waited for.
    """
    if sys.platform == "win32":
        yield
        return
    import fcntl

    handle = os.open(parent, os.O_RDONLY)
    try:
        with suppress(OSError):  # some network file systems know no locks
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                if waits is not None:
                    waits()
                fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        with suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_UN)  # a process forked meanwhile would hold on to it
        os.close(handle)


def _settle_all(folder: Path) -> None:
    for root, _, names in os.walk(folder):
        for name in names:
            path = Path(root, name)
            if not path.is_symlink():
                _settle(path)
        _settle(Path(root))


def _settle(path: Path) -> None:
    """Have the system put a file or folder on the disk; folders cannot be settled everywhere."""
    with suppress(OSError):
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
