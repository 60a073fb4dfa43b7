"""Prices that the tables make necessary."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.facility import Facility
from roundplan.domain.place import Place, Site
from roundplan.domain.role import SessionRoom
from roundplan.domain.trainer import Trainer
from roundplan.intake.finding import Finding
from roundplan.intake.settings_reader import SettingsRead

REMEDY = 'enter the amount, 0 if nothing is paid, or "none" to leave the line out of all totals'


def check_prices(
    facilities: list[Facility], places: list[Place], trainers: list[Trainer], crews: int, read: SettingsRead
) -> Iterator[Finding]:
    """Yield a finding for each price that a line of the cost needs and nobody entered.

    Parameters
    ----------
    facilities, places, trainers : list
        Rows that could be built.
    crews : int
        Number of crews.
    read : SettingsRead
        The settings.
    """
    for key, why in _needed(facilities, places, trainers, crews):
        column = f"prices.{key}"
        if getattr(read.settings.prices, key) is None and column not in read.bad:
            yield read.finding("missing-price", column, f"the price {key} is missing: {why}", REMEDY)


def can_host(site: Site) -> bool:
    """Whether sessions can be held at the site: it has stations, and not in its only theatre."""
    only_theatre = isinstance(site, Facility) and site.session_room is SessionRoom.ONLY_THEATRE
    return site.stations > 0 and not only_theatre


def _needed(
    facilities: list[Facility], places: list[Place], trainers: list[Trainer], crews: int
) -> Iterator[tuple[str, str]]:
    sites: list[Site] = [*facilities, *places]
    hosts = [site for site in sites if can_host(site)]
    sending = [facility for facility in facilities if facility.teams_wanted]
    travelling = [f for f in sending if any(host.code != f.code for host in hosts)]
    lodgings = [site for site in sites if site.has_lodging]
    if travelling:
        yield "participant_day", f"people of {travelling[0].code} may go to a venue away from home"
        if lodgings:
            yield "participant_night", f"participants may sleep at {lodgings[0].code}"
    unpriced = next((f for f in travelling if f.transport_price is None), None)
    if unpriced is not None:
        yield "fare_per_km", f"{unpriced.code} has no transport_price of its own"
    fee = next((trainer for trainer in trainers if trainer.day_price is None), None)
    if fee is not None:
        yield "trainer_day", f"trainer {fee.code} has no day_price"
    if trainers and lodgings:
        yield "trainer_night", f"trainers may sleep at {lodgings[0].code}"
    if crews:
        yield "driver_day", "crews have drivers"
        if lodgings:
            yield "driver_night", f"drivers may sleep at {lodgings[0].code}"
    if sending and hosts:
        yield "lunch", "sessions that span noon have a lunch"
        yield "printing", "each participant gets printed sheets"
    room = next((site for site in hosts if site.day_price is None), None)
    if room is not None:
        yield "venue_day", f"the venue {room.code} has no day_price"
    bed = next((site for site in lodgings if site.lodging_price is None), None)
    if bed is not None:
        yield "lodging", f"the lodging {bed.code} has no lodging_price"
