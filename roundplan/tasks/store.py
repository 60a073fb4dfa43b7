"""A folder of finished tasks: what was worked out once is not worked out again after an interruption.

A file is the result's SHA-256, taken over key and result, followed by the result. A file that does not fit its digest,
torn by a crash or changed by somebody, counts as absent.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from roundplan.domain.outcome import WrongPlace

_KEY = re.compile(r"[0-9a-f]{64}")
_UNFINISHED = "unfinished-"
_DIGEST = 32


class Store:
    """Results of finished tasks by key; the folder is made when the first one comes in, for the user's eyes only.

    Parameters
    ----------
    folder : Path
        Its own folder; what else lies there is never touched.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def get(self, key: str) -> bytes | None:
        """Return a result, or None where there is none that is whole."""
        try:
            content = self._path(key).read_bytes()
        except OSError:
            return None
        result = content[_DIGEST:]
        return result if content[:_DIGEST] == _digest(key, result) else None

    def put(self, key: str, result: bytes) -> None:
        """Keep a result; readers see all of it or nothing.

        Raises
        ------
        WrongPlace
            If it cannot be written.
        """
        path = self._path(key)
        try:
            try:
                self._write(path, result)
            except FileNotFoundError:  # no folder yet, or another run has just cleared it
                self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
                self._write(path, result)
        except OSError as error:
            words = f"the finished part of a search cannot be kept in {self.folder}: {error.strerror or error}"
            raise WrongPlace(words) from error

    def count(self) -> int:
        """Return how many whole results there are."""
        return sum(self.get(path.name) is not None for path in self._files() if _KEY.fullmatch(path.name))

    def clear(self) -> None:
        """Remove all results, and the folder if nothing of somebody else's lies in it."""
        for path in list(self._files()):
            if _KEY.fullmatch(path.name) or path.name.startswith(_UNFINISHED):
                with suppress(OSError):
                    path.unlink()
        with suppress(OSError):
            self.folder.rmdir()

    def _path(self, key: str) -> Path:
        if not _KEY.fullmatch(key):
            raise ValueError(f"{key!r} is no key of a task")
        return self.folder / key

    def _files(self) -> Iterator[Path]:
        with suppress(OSError):
            yield from self.folder.iterdir()

    def _write(self, path: Path, result: bytes) -> None:
        handle, name = tempfile.mkstemp(prefix=_UNFINISHED, dir=self.folder)
        try:
            with open(handle, "wb") as file:
                file.write(_digest(path.name, result))
                file.write(result)
            os.replace(name, path)
        except BaseException:
            with suppress(OSError):
                os.unlink(name)
            raise


def _digest(key: str, result: bytes) -> bytes:
    return hashlib.sha256(key.encode() + result).digest()


def store_beside(out: Path, run: str) -> Store:
    """Return the store of a run beside its output folder, ``.NAME.tasks``; what other runs left there goes.

    Parameters
    ----------
    out : Path
        The output folder, links resolved; it need not exist.
    run : str
        A fingerprint of all that decides the run's result.
    """
    home = _home(out)
    for folder in _stores(home):
        if folder.name != run:
            Store(folder).clear()
    return Store(home / run)


def clear_beside(out: Path) -> None:
    """Remove all that runs into an output folder have stored beside it."""
    home = _home(out)
    for folder in _stores(home):
        Store(folder).clear()
    with suppress(OSError):
        home.rmdir()


def _home(out: Path) -> Path:
    return out.with_name(f".{out.name}.tasks")


def _stores(home: Path) -> list[Path]:
    try:
        return [path for path in home.iterdir() if _KEY.fullmatch(path.name)]
    except OSError:
        return []
