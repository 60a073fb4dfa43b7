"""From an outline to a full plan: teams dealt, slots laid out, cover named, clocks set, loads and prices filled in."""

from roundplan.solver.assembly.assemble import assemble
from roundplan.solver.assembly.naming import CoverNotNamed
from roundplan.solver.assembly.rota import SlotsNotLaid
from roundplan.solver.assembly.teams import TeamsNotDealt

__all__ = ["CoverNotNamed", "SlotsNotLaid", "TeamsNotDealt", "assemble"]
