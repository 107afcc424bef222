"""The rooms of weak spots: a group's, one learner's, and what she may see of how she is seen."""

from drillhall.web.weak_spots import pages
from drillhall.web.weak_spots.room import blueprint

__all__ = ["blueprint", "pages"]
