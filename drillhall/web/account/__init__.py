"""The door of the hall and everybody's own account: sign in, join, first run, preferences, passphrase, devices."""

from drillhall.web.account import door, own
from drillhall.web.account.room import blueprint

__all__ = ["blueprint", "door", "own"]
