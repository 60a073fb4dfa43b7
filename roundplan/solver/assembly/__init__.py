"""From an outline to a full plan: slots laid out, cover named, clocks set, loads and prices filled in."""

from roundplan.solver.assembly.assemble import assemble
from roundplan.solver.assembly.naming import CoverNotNamed
from roundplan.solver.assembly.rota import SlotsNotLaid

__all__ = ["CoverNotNamed", "SlotsNotLaid", "assemble"]
