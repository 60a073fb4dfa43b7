"""With what means a search works: which search, how many processes, which cluster, where finished parts are kept."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path


class SearchMode(StrEnum):
    """Which search finds the plan."""

    AUTO = "auto"
    INTEGRATED = "integrated"
    DECOMPOSED = "decomposed"


@dataclass(frozen=True, slots=True)
class Means:
    """What a search may use. Every field left None keeps what ``[search]`` of the round says, or is not used.

    Attributes
    ----------
    search : str or None
        A word of :class:`SearchMode`.
    processes : int or None
        Processes on this machine for the independent solves of the decomposed search.
    cluster : str or None
        Address of a dask scheduler that runs them instead, such as ``tcp://10.0.0.5:8786``.
    store : Path or None
        Folder that keeps each finished solve, so that a run that was cut off can go on from there.
    """

    search: str | None = None
    processes: int | None = None
    cluster: str | None = None
    store: Path | None = None


NO_MEANS = Means()
"""Nothing given: all as ``[search]`` of the round says."""
