"""A crew's drives as GPX 1.1: every place as a waypoint, every drive as a route through the points of the road table.

The points are joined by straight lines; a navigation device finds the road between them.
"""

from __future__ import annotations

from xml.etree import ElementTree as ET

from roundplan.domain.place import Site
from roundplan.domain.plan import Drive
from roundplan.handouts.marking import changes, with_mark
from roundplan.handouts.page import printable
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.routes.stages import legs_of, points, sites_of
from roundplan.handouts.speech import say, without_marks
from roundplan.handouts.words import arrival, clock, duration, full_date, kilometres, version_words

NAMESPACE = "http://www.topografix.com/GPX/1/1"


def render(index: PlanIndex, crew: str, *, version: int | None = None) -> bytes:
    """Return a crew's drives as a .gpx file.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    crew : str
        Code of the crew.
    version : int or None
        Version of this file's own last change; None = the plan's.
    """
    root = ET.Element("gpx", {"xmlns": NAMESPACE, "version": "1.1", "creator": "roundplan"})
    about = ET.SubElement(root, "metadata")
    _say(about, "name", say("{round}: crew {crew}", round=index.plan.round_name, crew=crew))
    hint = say("Lines between points are straight; follow the road, and check it on the day.")
    told = changes()
    since = [say("{title}:", title=told.title), *told.told()] if told else []
    _say(about, "desc", " ".join([f"{version_words(index.plan, version)}. {hint}", *since]))
    for site in sites_of(index, crew):
        point = _point(root, "wpt", site)
        _say(point, "name", site.name)
    for trip, leg in legs_of(index, crew):
        _route(root, index, trip, leg.drive)
    ET.indent(root)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True)) + b"\n"


def _route(root: ET.Element, index: PlanIndex, trip: str, drive: Drive) -> None:
    route = ET.SubElement(root, "rte")
    start, end = index.name(drive.start), index.name(drive.end)
    name = say(
        "{date}, {depart}: {start} to {end}",
        date=full_date(drive.date), depart=clock(drive.depart), start=start, end=end,
    )  # fmt: skip
    _say(route, "name", with_mark("", name))
    text = say(
        "Trip {trip}: leave {depart}, reach {arrive}, {length}, {time} with breaks.",
        trip=trip, depart=clock(drive.depart), arrive=arrival(drive.arrive), length=kilometres(drive.km),
        time=duration(drive.arrive - drive.depart),
    )  # fmt: skip
    _say(route, "desc", text)
    for code in points(drive):
        site = index.training_round.site(code)
        _say(_point(route, "rtept", site), "name", site.name)


def _point(parent: ET.Element, tag: str, site: Site) -> ET.Element:
    east = site.longitude if site.longitude < 180 else site.longitude - 360  # the schema leaves 180 itself out
    return ET.SubElement(parent, tag, {"lat": f"{site.latitude:.6f}", "lon": f"{east:.6f}"})


def _say(parent: ET.Element, tag: str, text: str) -> None:
    ET.SubElement(parent, tag).text = without_marks(str(printable(text)))
