"""Sites that serve as one point: near pairs, and links that bring a site without road rows onto the network."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from roundplan.domain.place import Site
from roundplan.domain.training_round import TrainingRound
from roundplan.travel.distance import geodesic_km, near
from roundplan.travel.roadway import Stretch


def near_codes(sites: Sequence[Site]) -> dict[str, frozenset[str]]:
    """Return for each site with neighbours within 2 km their codes."""
    found: dict[str, set[str]] = {}
    for a, b in _near_pairs(sites):
        found.setdefault(a.code, set()).add(b.code)
        found.setdefault(b.code, set()).add(a.code)
    return {code: frozenset(codes) for code, codes in found.items()}


def join_near_sites(training_round: TrainingRound) -> tuple[tuple[Stretch, ...], frozenset[str]]:
    """Return links of no length between near sites that no road joins, and the codes on the network.

    Sites that the road table joins anyhow, through whatever detour, get no link: a river between two
    piers is crossed by its row only. The nearest pairs are linked first.
    """
    group = {site.code: site.code for site in training_round.sites()}

    def root(code: str) -> str:
        while group[code] != code:
            group[code] = group[group[code]]
            code = group[code]
        return code

    for road in training_round.roads:
        group[root(road.start)] = root(road.end)
    links: list[Stretch] = []
    pairs = _near_pairs(training_round.sites())
    for a, b in sorted(pairs, key=lambda pair: (geodesic_km(*pair), pair[0].code, pair[1].code)):
        if root(a.code) != root(b.code):
            group[root(a.code)] = root(b.code)
            for start, end in ((a.code, b.code), (b.code, a.code)):
                links.append(Stretch(start, end, Fraction(0), Fraction(1), 0.0))
    with_roads = {root(road.start) for road in training_round.roads}
    return tuple(links), frozenset(code for code in group if root(code) in with_roads)


def _near_pairs(sites: Sequence[Site]) -> list[tuple[Site, Site]]:
    by_latitude = sorted(sites, key=lambda site: (site.latitude, site.code))
    pairs = []
    for index, a in enumerate(by_latitude):
        for b in by_latitude[index + 1 :]:
            if b.latitude - a.latitude > 0.02:
                break
            if near(a, b):
                pairs.append((a, b))
    return pairs
