"""The rooms of whoever sits a field test: the tests that are for her, one question at a time, handing in, her results."""

from drillhall.web.sittings import acting, pages
from drillhall.web.sittings.room import blueprint

__all__ = ["acting", "blueprint", "pages"]
