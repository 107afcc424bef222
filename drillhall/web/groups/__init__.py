"""The rooms of groups: making one, who is in it, what is shared with it and assigned to it, its links, leaving and handing over."""

from drillhall.web.groups import acting, assigning, calendars, inviting, outings, pages, reporting, season, walling
from drillhall.web.groups.room import blueprint

__all__ = ["acting", "assigning", "blueprint", "calendars", "inviting", "outings", "pages", "reporting", "season", "walling"]
