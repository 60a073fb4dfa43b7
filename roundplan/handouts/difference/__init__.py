"""What differs between two versions of a plan, for each reader, in their own words."""

from roundplan.handouts.difference.change import Change, Effect, Topic
from roundplan.handouts.difference.differences import Differences, differences

__all__ = ["Change", "Differences", "Effect", "Topic", "differences"]
