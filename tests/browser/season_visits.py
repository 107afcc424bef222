"""The pages of a group's season, as the walk visits them."""

from __future__ import annotations

from playwright.sync_api import Page

from drillhall.core.weeks import Week
from drillhall.people.permissions import the_group
from drillhall.practice import seasons
from drillhall.practice.seasons import EntrySaid
from tests import cast
from tests.browser.leader_visits import SEASON, club
from tests.browser.seasons_at_work import CLASS, CLUB
from tests.browser.visiting import Values, Visit, send
from tests.hall import Hall

PLANNED = (
    EntrySaid("here", Week(2031, 9), Week(2031, 11), "First Sluice Fiddlers in moult; last year's young still grey, far out on the mud"),
    EntrySaid("lesson", Week(2031, 10), Week(2031, 12), "Bills and proportions before anything else", assignment_id=1),
    EntrySaid("holiday", Week(2031, 16), Week(2031, 16), "Spring holiday"),
    EntrySaid("here", Week(2031, 30), Week(2031, 40), "Young birds pass through"),
)


def planned(hall: Hall) -> Values:
    """Plan the club's year, once, for the walk to look at."""
    keeper, at = hall.people[cast.KEEPER], hall.clock.now
    with hall.store.work() as db:
        group = the_group(db, keeper, CLUB)
        if not seasons.list_entries(db, group.id):
            for one in PLANNED:
                seasons.plan_entry(db, group.id, one, by=keeper.id, today=at.date(), at=at)
    return club(hall)


def an_entry(hall: Hall) -> Values:
    """Name the club's first entry."""
    return planned(hall) | {"entry_id": 1}


def the_year_after(hall: Hall) -> Values:
    """Name the club's year after the one that is planned."""
    return planned(hall) | {"year": 2032}


def anothers(hall: Hall) -> Values:
    """Name the club's first entry as if it were the class's."""
    return an_entry(hall) | {"group_key": CLASS}


def make_a_link(page: Page) -> None:
    """Make a link to the calendar, which is shown on the page after."""
    send(page)


SEASON_VISITS = (
    Visit("groups.season", "planned", who=cast.KEEPER, state=SEASON, where=planned),
    Visit("groups.season", "planned, been in", who=cast.LEARNER, state=SEASON, where=planned),
    Visit(
        "groups.season", "nothing yet, a year to repeat", who=cast.KEEPER, state=SEASON, where=lambda hall: planned(hall) | {"year": 2032}
    ),
    Visit("groups.season", "nothing yet", who=cast.KEEPER, state=SEASON, where=lambda _: {"group_key": CLASS}),
    Visit("groups.season", "sent empty", who=cast.KEEPER, state=SEASON, where=planned, then=send, expected=422),
    Visit("groups.season", "not in it", who=cast.STRANGER, state=SEASON, where=planned, expected=404),
    Visit("groups.season_sheet", who=cast.LEARNER, state=SEASON, where=planned),
    Visit("groups.season_entry", who=cast.KEEPER, state=SEASON, where=an_entry),
    Visit(
        "groups.season_entry",
        "of another group",
        who=cast.KEEPER,
        state=SEASON,
        where=lambda hall: an_entry(hall) | {"group_key": CLASS},
        expected=404,
    ),
    Visit("groups.calendar", "no link yet", who=cast.LEARNER, state=SEASON, where=club),
    Visit("groups.calendar", "just made", who=cast.KEEPER, state=SEASON, where=club, then=make_a_link),
)
