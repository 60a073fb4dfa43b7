"""Layers of the map: sites with their names, crews' trips, participants' journeys."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import folium

from roundplan.handouts.maps.clipping import Point
from roundplan.handouts.maps.features import Feature, collection, feature, line, point
from roundplan.handouts.maps.journeys import Journey, journey_lines, light_token, surface_token
from roundplan.handouts.maps.lines import LineStyle, Locator, label_point
from roundplan.handouts.maps.marks import LAYERS, Mark, SiteMark
from roundplan.handouts.offline import entities
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.words import short_date
from roundplan.travel.distance import near

NAMES_SHOWN = 40
"""Up to so many marks have their names beside them when the map opens; the layer control shows or hides them."""

PARTICIPANTS = {"color": "#55606d", "weight": 2, "dashArray": "1 5"}
"""How participants' journeys are drawn."""

DATED = "dated"
"""Class of what belongs to a date, and is hidden while another date is chosen."""

HOMEWARD = "homeward"
"""Class of participants' drives home, drawn while a date is chosen."""


def popup() -> folium.GeoJsonPopup:
    """Return what opens when a feature is touched."""
    clear_of_controls: dict[str, Any] = {"autoPanPaddingTopLeft": [56, 8], "autoPanPaddingBottomRight": [56, 8]}
    return folium.GeoJsonPopup(fields=["said"], labels=False, max_width=220, **clear_of_controls)


def _icon(width: int, height: int, style: str, above: int = 0) -> folium.Marker:
    """Return how the points of a layer are drawn; what stands further ``above`` covers the rest."""
    drawn = folium.DivIcon(html="", icon_size=(width, height), class_name=style)
    return folium.Marker(icon=drawn, z_index_offset=above)


def add_marks(made: folium.Map, locator: Locator, kind: Mark, marks: Sequence[SiteMark]) -> None:
    """Add the sites of one kind."""
    if not marks:
        return
    features = [
        feature(number, point(locator.points[mark.site.code]), mark.lines, mark.site.name)
        for number, mark in enumerate(marks)
    ]
    drawings = {str(number): {"html": mark.drawing, "iconAnchor": [15, 15]} for number, mark in enumerate(marks)}
    folium.GeoJson(
        collection(features),
        name=entities(say(LAYERS[kind])),
        marker=_icon(30, 30, "mark", 0 if kind is Mark.OTHER else 1000),
        style_function=lambda found: drawings[found["id"]],
        popup=popup(),
        tooltip=folium.GeoJsonTooltip(fields=["name"], labels=False, sticky=False),
    ).add_to(made)


def add_names(made: folium.Map, locator: Locator, marks: Sequence[SiteMark]) -> None:
    """Write names beside marks; a place next to another one goes by the name of that, and by its own when touched."""
    named: list[SiteMark] = []
    for mark in marks:
        if mark.mark is not Mark.OTHER or mark.venue or not any(near(mark.site, other.site) for other in named):
            named.append(mark)
    features = [feature(n, point(locator.points[m.site.code]), (), m.site.name) for n, m in enumerate(named)]
    if not features:
        return
    written = {f["id"]: {"html": f'<span class="name">{f["properties"]["name"]}</span>'} for f in features}
    folium.GeoJson(
        collection(features),
        name=entities(say("Names")),
        show=len(features) <= NAMES_SHOWN,
        marker=folium.Marker(
            icon=folium.DivIcon(html="", icon_size=(1, 1), class_name="name-mark"), interactive=False, keyboard=False
        ),
        style_function=lambda found: written[found["id"]],
    ).add_to(made)


def add_legs(made: folium.Map, index: PlanIndex, legs: Sequence[Journey], style: LineStyle, taken: list[Point]) -> None:
    """Add a crew's legs, hop by hop; their numbers keep clear of the points taken and then take theirs."""
    pieces: list[Feature] = []
    numbers: list[Feature] = []
    drawn: dict[str, dict[str, Any]] = {}
    written: dict[str, dict[str, Any]] = {}
    for number, leg in enumerate(legs):
        said = journey_lines(index, leg)
        classes = f"{DATED} {leg.token} {style.token}"
        for surface, path in leg.hops:
            kinds = f"leg-line {classes} {surface_token(surface)} {light_token(leg.margin.light)}"
            drawn[str(len(pieces))] = {
                "color": style.colour, "weight": 3.5, "dashArray": style.dashes or None, "className": kinds,
            }  # fmt: skip
            pieces.append(feature(len(pieces), line(path), said, leg.head))
        where = label_point(leg.path, taken)
        taken.append(where)
        numbers.append(feature(number, point(where), said, leg.head))
        edge = f"border:2px {style.edge} {style.colour}"
        date_words = entities(short_date(leg.drive.date))
        badge = f'<span class="leg" style="{edge}"><b>{leg.number}</b> <i>{date_words}</i></span>'
        written[str(number)] = {"html": badge, "className": f"leg-mark {classes}"}
    if not pieces:
        return
    folium.GeoJson(
        collection(pieces), control=False, style_function=lambda found: drawn[found["id"]], popup=popup(),
        smooth_factor=0,
    ).add_to(made)  # fmt: skip
    folium.GeoJson(
        collection(numbers), control=False, marker=_icon(1, 1, "leg-mark"),
        style_function=lambda found: written[found["id"]], popup=popup(),
    ).add_to(made)  # fmt: skip


def add_participants(made: folium.Map, index: PlanIndex, journeys: Sequence[Journey]) -> None:
    """Add participants' journeys; those home are drawn while a date is chosen."""
    features, drawn = [], {}
    for number, journey in enumerate(journeys):
        features.append(feature(number, line(journey.path), journey_lines(index, journey), journey.head))
        home = f" {HOMEWARD}" if journey.homeward else ""
        drawn[str(number)] = PARTICIPANTS | {"className": f"{DATED} {journey.token}{home}"}
    if features:
        folium.GeoJson(
            collection(features),
            name=entities(say("Participants on their way")),
            style_function=lambda found: drawn[found["id"]],
            popup=popup(),
            smooth_factor=0,
        ).add_to(made)
