"""Shows the hall's own parts in every state, on one page for the keeper; it shows and changes nothing of anybody's."""

from drillhall.web.specimens.room import blueprint

__all__ = ["blueprint"]
