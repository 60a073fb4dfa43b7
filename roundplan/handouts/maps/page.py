"""map.html: sites, crews' trips and participants' journeys; opens with no network and sends nothing anywhere.

Only where the round's settings ask for background pictures does the opened page load these, and nothing else.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from typing import Any, cast

import folium
from markupsafe import Markup

from roundplan.domain.plan import Plan
from roundplan.domain.settings import MapSettings
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.maps import legend
from roundplan.handouts.maps.clipping import Box
from roundplan.handouts.maps.features import base_features, collection
from roundplan.handouts.maps.journeys import Journey, crew_legs, days_on_the_road, participant_journeys
from roundplan.handouts.maps.layers import add_legs, add_marks, add_names, add_participants
from roundplan.handouts.maps.lines import Locator, crew_styles
from roundplan.handouts.maps.marks import STATES, Mark, SiteMark, site_marks
from roundplan.handouts.maps.rooms import room_table
from roundplan.handouts.maps.world import outlines
from roundplan.handouts.offline import refuse_remote, steady_ids, vendored
from roundplan.handouts.page import Table, draft_reasons, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.safety import ROADS
from roundplan.handouts.speech import say

_LAND = {"color": "#8c98a8", "weight": 1.2, "fillColor": "#efe9dc", "fillOpacity": 1}
_OWN = {"color": "#55606d", "weight": 1.4, "fillColor": "#f6f1e6", "fillOpacity": 1}
_SEE_THROUGH = {"fillOpacity": 0}
_ORIGIN = re.compile(r"https://[A-Za-z0-9.\-:]+")


def render(plan: Plan, training_round: TrainingRound, *, base_map: str = "") -> str:
    """Return the map as one page; the same plan gives the same page.

    Parameters
    ----------
    base_map : str
        Outlines of the user's own, as ``roundplan.intake`` leaves them; empty = country outlines alone.

    Raises
    ------
    RemoteLink
        If the page came to point outside, background pictures that were asked for left apart.
    """
    index = PlanIndex(plan, training_round)
    locator, styles = Locator(index), crew_styles(index.crews_used())
    marks = list(site_marks(index))
    legs = list(crew_legs(index, locator, styles))
    journeys = list(participant_journeys(index, locator))
    made = _map(index, locator, marks, base_map)
    add_participants(made, index, journeys)
    taken = [locator.points[mark.site.code] for mark in marks]
    for crew, style in styles.items():
        add_legs(made, index, [leg for leg in legs if leg.crew == crew], style, taken)
    _add_sites(made, locator, marks)
    body, script, name = _written(made)
    settings = training_round.settings.map
    page = render_page(
        "map.html.j2",
        **frame(plan, say("Map")),
        **_pictures(settings),
        reasons=draft_reasons(index),
        leaflet_style=Markup(vendored("leaflet-1.9.4.css")),
        leaflet_script=Markup(vendored("leaflet-1.9.4.js")),
        map_body=Markup(body),
        map_script=Markup(script),
        map_name=name,
        bounds=Markup(json.dumps(_bounds(locator, marks, [*legs, *journeys]), separators=(",", ":"))),
        base_name=settings.base if base_map else "",
        days=days_on_the_road(index, [*legs, *journeys]),
        crews=[(style.token, crew) for crew, style in styles.items()],
        legend=legend,
        styles=styles,
        table_of_marks=_table(marks),
        table_of_rooms=room_table(index),
        roads=say(ROADS),
    )
    return refuse_remote(page, body + script)


def _pictures(settings: MapSettings) -> dict[str, str]:
    """Return the address of the background pictures, its origin and their credit; empty where none are asked for."""
    origin = _ORIGIN.match(settings.tiles)
    return {
        "tiles": Markup(json.dumps(settings.tiles)) if origin else "",
        "tiles_origin": origin.group() if origin else "",
        "tiles_credit": settings.tiles_credit,
    }


def _written(made: folium.Map) -> tuple[str, str, str]:
    """Return the map's element, its script and the name of its variable, ids numbered in order of appearance."""
    root = cast(Any, made.get_root())
    root.render()
    parts = steady_ids("\0".join((root.html.render(), root.script.render(), made.get_name()))).split("\0")
    return parts[0], parts[1], parts[2]


def _map(index: PlanIndex, locator: Locator, marks: Sequence[SiteMark], base_map: str) -> folium.Map:
    """Return the map with its outlines and nothing on them yet."""
    box = _box(locator, marks)
    made = folium.Map(
        tiles=None, control_scale=True, max_zoom=14, min_zoom=3, zoom_snap=0.25, attribution_control=False
    )
    made.default_js, made.default_css = [], []
    over_pictures: dict[str, Any] = _SEE_THROUGH if index.training_round.settings.map.tiles else {}
    land, own = _LAND | over_pictures, _OWN | over_pictures
    room = box.grown(3, 1.5)
    folium.GeoJson(outlines(room), control=False, style_function=lambda _: land, interactive=False).add_to(made)
    features = base_features(base_map, room) if base_map else []
    if features:
        folium.GeoJson(
            collection(features),
            name="base",
            control=False,
            style_function=lambda _: own,
            marker=folium.CircleMarker(radius=3),
            interactive=False,
        ).add_to(made)
    return made


def _box(locator: Locator, marks: Sequence[SiteMark]) -> Box:
    shown = [locator.points[mark.site.code] for mark in marks] or [(0.0, 0.0)]
    longitudes, latitudes = [p[0] for p in shown], [p[1] for p in shown]
    return Box(min(longitudes), min(latitudes), max(longitudes), max(latitudes))


def _add_sites(made: folium.Map, locator: Locator, marks: Sequence[SiteMark]) -> None:
    for kind in Mark:
        add_marks(made, locator, kind, [mark for mark in marks if mark.mark is kind])
    add_names(made, locator, marks)
    folium.LayerControl(collapsed=True).add_to(made)


def _bounds(locator: Locator, marks: Sequence[SiteMark], journeys: Sequence[Journey]) -> dict[str, list[list[float]]]:
    """Return the corners to show, south-west and north-east: of everything (no key), and of each date's drives."""
    found = {"": _box(locator, marks)}
    for journey in journeys:
        for x, y in journey.path:
            box = found.get(journey.token, Box(x, y, x, y))
            found[journey.token] = Box(min(box.west, x), min(box.south, y), max(box.east, x), max(box.north, y))
    grown = {token: box.grown(0.05, 0.08) for token, box in sorted(found.items())}
    return {
        token: [[round(box.south, 4), round(box.west, 4)], [round(box.north, 4), round(box.east, 4)]]
        for token, box in grown.items()
    }


def _table(marks: Sequence[SiteMark]) -> Table:
    heads = (say("Site"), say("State"), say("What the plan says"))
    rows = [(mark.site.name, say(STATES[mark.mark]), mark.lines) for mark in marks]
    return Table(say("All marks of the map"), heads, rows)
