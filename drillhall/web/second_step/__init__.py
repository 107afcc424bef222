"""The second step at sign-in and passkeys: at the door, and where they are set up and turned off."""

from drillhall.web.second_step import door, pages, passkeys
from drillhall.web.second_step.room import blueprint

__all__ = ["blueprint", "door", "pages", "passkeys"]
