"""The pages of the wall, as the walk visits them."""

from __future__ import annotations

from playwright.sync_api import Page

from tests import cast
from tests.browser.groups_at_work import group
from tests.browser.visiting import Values, Visit
from tests.hall import Hall

WORK = "people_who_share"


def on_the_wall(hall: Hall) -> Values:
    """Name the first pair set, on the wall of the club."""
    return group(hall) | {"set_id": 1}


def as_written(_hall: Hall) -> Values:
    """Name the set as its steward finds it."""
    return {"key": "small-estuary", "set_key": "fiddlers"}


def darken(page: Page) -> None:
    """Make the wall dark."""
    page.click("[data-dark]")


WALL_VISITS = (
    Visit("groups.walls", who=cast.KEEPER, state=WORK, where=group),
    Visit("groups.walls", "not led", who=cast.LEARNER, state=WORK, where=group, expected=403),
    Visit("groups.wall", "asked", who=cast.KEEPER, state=WORK, where=on_the_wall),
    Visit("groups.wall", "told", who=cast.KEEPER, state=WORK, where=lambda hall: on_the_wall(hall) | {"told": "yes"}),
    Visit("groups.wall", "dark", who=cast.KEEPER, state=WORK, where=on_the_wall, then=darken),
    Visit("groups.wall", "without scripts", who=cast.KEEPER, state=WORK, where=on_the_wall, scripts=False),
    Visit("groups.wall", "no such set", who=cast.KEEPER, state=WORK, where=lambda hall: group(hall) | {"set_id": 999}, expected=404),
    Visit("catalogue.wall", who=cast.KEEPER, where=as_written),
)
