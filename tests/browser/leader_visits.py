"""The pages of whoever leads a group that the walk visits: what the group is given and how far it is."""

from __future__ import annotations

from playwright.sync_api import Page

from tests import cast
from tests.browser.group_visits import open_all
from tests.browser.seasons_at_work import CLASS, CLUB
from tests.browser.visiting import Values, Visit, send
from tests.hall import MADE_AT, Hall

SEASON = "a_season"


def club(_hall: Hall) -> Values:
    """Name the club."""
    return {"group_key": CLUB}


def given_to(group_key: str, number: int) -> Values:
    """Name what a group was given."""
    return {"group_key": group_key, "assignment_id": number}


GIVE = """(day) => {
  const form = document.querySelector('main form[method=post]').cloneNode(true);
  form.action = location.href;
  for (const [name, value] of [['pair_set', '1'], ['from_day', day]])
    form.append(Object.assign(document.createElement('input'), { name, value }));
  document.querySelector('main').append(form);
  form.submit();
}"""
"""Sends what a page would that was opened before the group had the set: no page opened since offers it."""


def give_again(page: Page) -> None:
    """Give the pair set that the group has already."""
    with page.expect_navigation():
        page.evaluate(GIVE, f"{MADE_AT:%Y-%m-%d}")


def outing(_hall: Hall) -> Values:
    """Name the club's outing."""
    return {"group_key": CLUB, "outing_id": 1}


def send_without_day(page: Page) -> None:
    """Send the outing without its day."""
    page.fill("main input[name=day]", "")
    send(page)


LEADER_VISITS = (
    Visit("groups.group", "given a pair set, led", who=cast.KEEPER, state=SEASON, where=club, then=open_all),
    Visit("groups.group", "given a pair set, been in", who=cast.LEARNER, state=SEASON, where=club, then=open_all),
    Visit("groups.assign", who=cast.KEEPER, state=SEASON, where=club, then=open_all),
    Visit("groups.assign", "the same again", who=cast.KEEPER, state=SEASON, where=club, then=give_again, expected=409),
    Visit("groups.assign", "been in", who=cast.LEARNER, state=SEASON, where=club, expected=404),
    Visit("groups.assignment", "of a club", who=cast.KEEPER, state=SEASON, where=lambda _: given_to(CLUB, 1)),
    Visit("groups.assignment", "of a class", who=cast.KEEPER, state=SEASON, where=lambda _: given_to(CLASS, 2)),
    Visit("groups.assignment", "of another group", who=cast.KEEPER, state=SEASON, where=lambda _: given_to(CLUB, 2), expected=404),
    Visit("groups.outing_list", who=cast.KEEPER, state=SEASON, where=club),
    Visit("groups.outing_list", "sent empty", who=cast.KEEPER, state=SEASON, where=club, then=send, expected=422),
    Visit("groups.outing", who=cast.KEEPER, state=SEASON, where=outing),
    Visit("groups.outing", "sent empty", who=cast.KEEPER, state=SEASON, where=outing, then=send_without_day, expected=422),
    Visit("groups.eve_sheet", who=cast.KEEPER, state=SEASON, where=outing),
    Visit("groups.eve_sheet", "been in", who=cast.LEARNER, state=SEASON, where=outing, expected=404),
    Visit("groups.reports", who=cast.KEEPER, state=SEASON, where=club),
    Visit("groups.report", "progress of a club", who=cast.KEEPER, state=SEASON, where=lambda _: {"group_key": CLUB, "name": "progress"}),
    Visit("groups.report", "no answers yet", who=cast.KEEPER, state=SEASON, where=lambda _: {"group_key": CLUB, "name": "audience"}),
    Visit("groups.report", "no such", who=cast.KEEPER, state=SEASON, where=lambda _: {"group_key": CLUB, "name": "league"}, expected=404),
    Visit("learner.today", "with a set given for a day", who=cast.LEARNER, state=SEASON),
)
