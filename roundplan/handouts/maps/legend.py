"""The legend: every shape and stroke of the map with its meaning; colour says nothing that they do not."""

from __future__ import annotations

from markupsafe import Markup, escape

from roundplan.domain.role import Surface
from roundplan.handouts.daylight_left import Light
from roundplan.handouts.maps.journeys import light_token, surface_token
from roundplan.handouts.maps.layers import PARTICIPANTS
from roundplan.handouts.maps.lines import LineStyle
from roundplan.handouts.maps.marks import SHAPES, Mark, shape
from roundplan.handouts.speech import say
from roundplan.handouts.surfaces import surface_words
from roundplan.handouts.words import capital

Entry = tuple[Markup, str]
"""A drawing and what it means."""


def shape_entries() -> list[Entry]:
    """Return the shapes of sites."""
    found = [(Markup(shape(mark, stations=None)), say(words)) for mark, words in SHAPES.items()]
    venue = say("Square round a mark: a session is held there; the number says how many stations it can take")
    return [*found, (Markup(shape(Mark.TRAINED, stations=2)), venue)]


def crew_entries(styles: dict[str, LineStyle]) -> list[Entry]:
    """Return the lines of crews, and of participants."""
    found = [(_plain(s.colour, s.dashes, 3.5), say("Crew {crew}", crew=crew)) for crew, s in styles.items()]
    drawn = _plain(str(PARTICIPANTS["color"]), str(PARTICIPANTS["dashArray"]), 2)
    return [*found, (drawn, say("Dotted: participants on their way"))]


def surface_entries() -> list[Entry]:
    """Return how legs are drawn by surface."""
    return [(_classed(surface_token(kind)), capital(surface_words(kind))) for kind in (*Surface, None)]


def light_entries() -> list[Entry]:
    """Return how legs are drawn by the daylight left on arrival."""
    words = {
        Light.TWO_HOURS_OR_MORE: say("two hours of daylight or more left on arrival"),
        Light.UNDER_TWO_HOURS: say("one to two hours left"),
        Light.UNDER_ONE_HOUR: say("half an hour to one hour left"),
        Light.UNDER_HALF_AN_HOUR: say("less than half an hour left"),
    }
    return [(_classed(light_token(light)), capital(said)) for light, said in words.items()]


def _plain(colour: str, dashes: str, width: float) -> Markup:
    return Markup(
        f'<svg viewBox="0 0 64 14" width="64" height="14" aria-hidden="true"><path d="M2 7H62" stroke="{colour}" '
        f'stroke-width="{width}" stroke-dasharray="{dashes or "none"}" stroke-linecap="round" fill="none"/></svg>'
    )


def _classed(token: str) -> Markup:
    return Markup(
        '<svg viewBox="0 0 64 14" width="64" height="14" aria-hidden="true">'
        f'<path class="leg-line {escape(token)}" d="M2 7H62" fill="none"/></svg>'
    )
