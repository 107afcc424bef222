"""The second step at sign-in: at the door, and where it is set up and turned off."""

from drillhall.web.second_step import door, pages
from drillhall.web.second_step.room import blueprint

__all__ = ["blueprint", "door", "pages"]
