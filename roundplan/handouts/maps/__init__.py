"""The map: sites, crews' trips and participants' journeys, on outlines that the package or the user brings."""

from roundplan.handouts.maps.page import render

__all__ = ["render"]
