"""Bipartite matching: each place to fill gets one person, each person fills one place."""

from __future__ import annotations

from collections.abc import Sequence


def match(candidates: Sequence[Sequence[str]]) -> list[str | None]:
    """Return a largest matching: the person of each place, None where a place stays open.

    Places are filled in order by augmenting paths; a place once filled stays filled, so put those that matter
    most first.

    Parameters
    ----------
    candidates : sequence of sequence of str
        For each place, the codes of the people who could fill it.
    """
    holder: dict[str, int] = {}

    def fill(place: int, tried: set[str]) -> bool:
        for person in candidates[place]:
            if person not in tried:
                tried.add(person)
                if person not in holder or fill(holder[person], tried):
                    holder[person] = place
                    return True
        return False

    for place in range(len(candidates)):
        fill(place, set())
    filled = {place: person for person, place in holder.items()}
    return [filled.get(place) for place in range(len(candidates))]
