"""map.html: sites, crews' trips and participants' journeys; opens with no network and sends nothing anywhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, cast

import folium
from markupsafe import Markup

from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts import safety
from roundplan.handouts.maps.lines import (
    LineStyle,
    Locator,
    crew_styles,
    label_point,
    numbered_legs,
    participant_drives,
)
from roundplan.handouts.maps.marks import PAPER, Mark, SiteMark, drive_lines, shape, site_marks
from roundplan.handouts.maps.world import Box, Point, outlines
from roundplan.handouts.offline import entities, refuse_remote, steady_ids, vendored
from roundplan.handouts.page import Table, draft_reasons, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.words import count, short_date, span_words
from roundplan.travel.distance import near

NAMES_SHOWN = 40
"""Up to so many marks have their names beside them when the map opens; the layer control shows or hides them."""

_LAND = {"color": "#8c98a8", "weight": 1.2, "fillColor": "#efe9dc", "fillOpacity": 1}
_JOURNEY = {"color": "#55606d", "weight": 2, "dashArray": "1 5"}


def render(plan: Plan, training_round: TrainingRound) -> str:
    """Return the map as one page without links; the same plan gives the same page.

    Raises
    ------
    RemoteLink
        If the page came to point outside.
    """
    index = PlanIndex(plan, training_round)
    marks = list(site_marks(index))
    styles = crew_styles(index.crews_used())
    made = _map(index, marks, styles)
    root = cast(Any, made.get_root())
    root.render()
    body, script = steady_ids(root.html.render() + "\0" + root.script.render()).split("\0")
    page = render_page(
        "map.html.j2",
        **frame(plan, "Map"),
        reasons=draft_reasons(index),
        leaflet_style=Markup(vendored("leaflet-1.9.4.css")),
        leaflet_script=Markup(vendored("leaflet-1.9.4.js")),
        map_body=Markup(body),
        map_script=Markup(script),
        shapes=_shape_legend(),
        lines=[(f"Crew {crew}", _sample(style)) for crew, style in styles.items()],
        journeys=_sample(None),
        table_of_marks=_table(marks),
        roads=safety.ROADS,
    )
    return refuse_remote(page, body + script)


def _map(index: PlanIndex, marks: Sequence[SiteMark], styles: dict[str, LineStyle]) -> folium.Map:
    locator = Locator(index)
    shown = [locator.points[mark.site.code] for mark in marks] or [(0.0, 0.0)]
    longitudes, latitudes = [p[0] for p in shown], [p[1] for p in shown]
    box = Box(min(longitudes), min(latitudes), max(longitudes), max(latitudes))
    made = folium.Map(
        tiles=None, control_scale=True, max_zoom=14, min_zoom=3, zoom_snap=0.25, attribution_control=False
    )
    made.default_js, made.default_css = [], []
    folium.GeoJson(outlines(box.grown(3, 1.5)), control=False, style_function=_land, interactive=False).add_to(made)
    _add_journeys(made, index, locator)
    taken = list(shown)
    for crew, style in styles.items():
        _add_trips(made, index, locator, crew, style, taken)
    for kind in Mark:
        _add_marks(made, locator, kind, [mark for mark in marks if mark.mark is kind])
    _add_names(made, locator, marks)
    folium.LayerControl(collapsed=True).add_to(made)
    view = box.grown(0.05, 0.08)
    made.fit_bounds([[view.south, view.west], [view.north, view.east]])
    return made


def _land(_: Any) -> dict[str, Any]:
    return _LAND


def _feature(number: int, geometry: dict[str, Any], lines: Iterable[str], head: str) -> dict[str, Any]:
    said = f"<b>{entities(head)}</b>" + "".join(f"<br>{entities(line)}" for line in lines)
    properties = {"name": entities(head), "said": said}
    return {"type": "Feature", "id": str(number), "properties": properties, "geometry": geometry}


def _collection(features: Sequence[dict[str, Any]]) -> dict[str, Any]:
    return {"type": "FeatureCollection", "features": list(features)}


def _point(where: Point) -> dict[str, Any]:
    return {"type": "Point", "coordinates": list(where)}


def _popup() -> folium.GeoJsonPopup:
    clear_of_controls: dict[str, Any] = {"autoPanPaddingTopLeft": [56, 8], "autoPanPaddingBottomRight": [56, 8]}
    return folium.GeoJsonPopup(fields=["said"], labels=False, max_width=220, **clear_of_controls)


def _icon(size: int, style: str) -> folium.Marker:
    return folium.Marker(icon=folium.DivIcon(html="", icon_size=(size, size), class_name=style))


def _add_marks(made: folium.Map, locator: Locator, kind: Mark, marks: Sequence[SiteMark]) -> None:
    if not marks:
        return
    features = [
        _feature(number, _point(locator.points[mark.site.code]), mark.lines, mark.site.name)
        for number, mark in enumerate(marks)
    ]
    drawings = {str(number): {"html": shape(kind, venue=mark.venue)} for number, mark in enumerate(marks)}
    folium.GeoJson(
        _collection(features),
        name=entities(kind.value),
        marker=_icon(30, "mark"),
        style_function=lambda feature: drawings[feature["id"]],
        popup=_popup(),
        tooltip=folium.GeoJsonTooltip(fields=["name"], labels=False, sticky=False),
    ).add_to(made)


def _add_names(made: folium.Map, locator: Locator, marks: Sequence[SiteMark]) -> None:
    """Write names beside marks; a place next to another one goes by the name of that, and by its own when touched."""
    named: list[SiteMark] = []
    for mark in marks:
        if mark.mark is not Mark.OTHER or mark.venue or not any(near(mark.site, other.site) for other in named):
            named.append(mark)
    features = [_feature(n, _point(locator.points[m.site.code]), (), m.site.name) for n, m in enumerate(named)]
    if not features:
        return
    written = {f["id"]: {"html": f'<span class="name">{f["properties"]["name"]}</span>'} for f in features}
    folium.GeoJson(
        _collection(features),
        name="Names",
        show=len(features) <= NAMES_SHOWN,
        marker=folium.Marker(
            icon=folium.DivIcon(html="", icon_size=(1, 1), class_name="name-mark"), interactive=False, keyboard=False
        ),
        style_function=lambda feature: written[feature["id"]],
    ).add_to(made)


def _add_trips(
    made: folium.Map, index: PlanIndex, locator: Locator, crew: str, style: LineStyle, taken: list[Point]
) -> None:
    """Add a crew's trips; numbers keep clear of the points taken and then take theirs."""
    for trip in index.trips_of(crew):
        span = span_words(trip.days[0].date, trip.days[-1].date)
        group = folium.FeatureGroup(name=entities(f"Crew {crew}, {span}"))
        lines, numbers, written = [], [], {}
        for leg in numbered_legs(locator, trip, style.bow):
            said = drive_lines(index, leg.drive)
            head = f"Crew {crew}, trip {trip.code}, leg {leg.number}"
            lines.append(_feature(leg.number, {"type": "LineString", "coordinates": leg.path}, said, head))
            where = label_point(leg.path, taken)
            taken.append(where)
            numbers.append(_feature(leg.number, _point(where), said, head))
            date_words = entities(short_date(leg.drive.date))
            edge = f"border:2px {style.edge} {style.colour}"
            badge = f'<span class="leg" style="{edge}"><b>{leg.number}</b> <i>{date_words}</i></span>'
            written[str(leg.number)] = {"html": badge}
        if not lines:
            continue
        drawn = {"color": style.colour, "weight": 3.5, "dashArray": style.dashes or None}
        folium.GeoJson(
            _collection(lines), style_function=lambda _, drawn=drawn: drawn, popup=_popup(), smooth_factor=0
        ).add_to(group)
        folium.GeoJson(
            _collection(numbers),
            marker=_icon(1, "leg-mark"),
            style_function=lambda feature, written=written: written[feature["id"]],
            popup=_popup(),
        ).add_to(group)
        group.add_to(made)


def _add_journeys(made: folium.Map, index: PlanIndex, locator: Locator) -> None:
    features = [
        _feature(
            number,
            {"type": "LineString", "coordinates": path},
            drive_lines(index, drive),
            f"Participants from {index.name(drive.start)}, {count(people, 'person')}",
        )
        for number, (drive, people) in enumerate(participant_drives(index))
        if (path := locator.path(drive, -0.05))
    ]
    if features:
        folium.GeoJson(
            _collection(features),
            name="Participants on their way to the venue",
            style_function=lambda _: _JOURNEY,
            popup=_popup(),
        ).add_to(made)


def _shape_legend() -> list[tuple[str, Markup]]:
    words = {
        "Circle: a facility with a team in this plan": shape(Mark.TRAINED, venue=False),
        "Open triangle: a facility without a team; its label says why": shape(Mark.UNTRAINED, venue=False),
        "Diamond: a base, store, lodging or other place": shape(Mark.OTHER, venue=False),
        "Square round a mark: a session is held there": shape(Mark.TRAINED, venue=True),
    }
    return [(said, Markup(drawing)) for said, drawing in words.items()]


def _sample(style: LineStyle | None) -> Markup:
    colour, dashes, width = (
        (style.colour, style.dashes, 3.5) if style else (str(_JOURNEY["color"]), str(_JOURNEY["dashArray"]), 2)
    )
    return Markup(
        f'<svg viewBox="0 0 64 14" width="64" height="14" aria-hidden="true"><path d="M2 7H62" stroke="{colour}" '
        f'stroke-width="{width}" stroke-dasharray="{dashes}" stroke-linecap="round" fill="{PAPER}"/></svg>'
    )


def _table(marks: Sequence[SiteMark]) -> Table:
    rows = [(mark.site.name, str(mark.mark).removeprefix("Facilities ").capitalize(), mark.lines) for mark in marks]
    kinds = {"With a team": "team", "Without a team": "no team"}
    return Table(
        "All marks of the map",
        ("Site", "Mark", "What the plan says"),
        [(name, kinds.get(kind, "place"), lines) for name, kind, lines in rows],
    )
