"""Parts that several packs of a plan hold alike, each made once a language."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Session, Trip
from roundplan.handouts import speech
from roundplan.handouts.packs.packing import packing_blocks
from roundplan.handouts.packs.slot_sheet import slot_sheet
from roundplan.handouts.pdf.blocks import Block
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.surfaces import Surfaces


@dataclass(slots=True)
class Binder:
    """A plan with the contacts that packs print, and the parts made so far.

    Attributes
    ----------
    contacts : mapping of str to Contact
        By code; the manager's and the venues' are printed, nobody else's.
    """

    index: PlanIndex
    contacts: Mapping[str, Contact] = field(default_factory=dict)
    _surfaces: Surfaces | None = field(default=None, repr=False)
    _made: dict[tuple[str, str, str], tuple[Block, ...]] = field(default_factory=dict, repr=False)

    @property
    def surfaces(self) -> Surfaces:
        """What drives run on, looked up once."""
        if self._surfaces is None:
            self._surfaces = Surfaces(self.index)
        return self._surfaces

    def slot_sheets(self, session: Session) -> tuple[Block, ...]:
        """Return the sheets of a session, one a date."""

        def make() -> tuple[Block, ...]:
            return tuple(slot_sheet(self.index, session, day, self.contacts) for day in session.days)

        return self._once("session", session.code, make)

    def packing(self, trip: Trip) -> tuple[Block, ...]:
        """Return what a trip packs."""
        return self._once("trip", trip.code, lambda: tuple(packing_blocks(self.index, trip)))

    def _once(self, kind: str, code: str, make: Callable[[], tuple[Block, ...]]) -> tuple[Block, ...]:
        key = (kind, code, speech.language())
        if key not in self._made:
            self._made[key] = make()
        return self._made[key]
