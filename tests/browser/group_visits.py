"""The pages of groups, sharing, offers and corrected labels that the walk visits."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page

from tests import cast
from tests.browser.groups_at_work import ACCEPTED, ARCHIVED, GROUP, OFFERED, PRIVATE, a_group_link, a_shown, group
from tests.browser.visiting import Values, Visit, send
from tests.hall import Hall

WORK = "people_who_share"
SMALL = {"key": "small-estuary"}
SHARE = """() => {
  const form = document.querySelector('form#share');
  document.querySelectorAll('input[name=picture][form=share]').forEach(tick => { tick.checked = true; });
  form.querySelector('details').open = true;
  form.group.value = form.group.options[form.group.options.length - 1].value;
  form.noValidate = true;
  form.requestSubmit();
}"""


OFFER = """chosen => {
  const form = document.querySelector('form#share');
  document.querySelectorAll('input[name=picture][form=share]').forEach(tick => { tick.checked = true; });
  form.catalogue.value = chosen;
  form.noValidate = true;
  form.requestSubmit(form.querySelector('[formaction]'));
}"""


def named(public_id: str) -> Callable[[Hall], Values]:
    """Name one of the learner's pictures."""
    return lambda _: {"public_id": public_id}


def a_label(hall: Hall) -> Values:
    """Name the picture whose label was corrected."""
    return SMALL | {"public_id": a_shown(hall)}


def by_link(hall: Hall) -> Values:
    """Make a link to the club."""
    return {"token": a_group_link(hall)}


def share_all(page: Page) -> None:
    """Tick every picture of the list and share them, one of which has no licence."""
    with page.expect_navigation():
        page.evaluate(SHARE)


def offer_all(page: Page) -> None:
    """Tick every picture of the list and offer them, one of which has no licence."""
    with page.expect_navigation():
        page.evaluate(OFFER, "1")
    page.get_by_role("heading", name="What stands in the way").wait_for()


def offer_nowhere(page: Page) -> None:
    """Tick every picture of the list and choose no catalogue."""
    with page.expect_navigation():
        page.evaluate(OFFER, "")
    page.get_by_role("heading", name="Not in a catalogue yet").wait_for()


def open_all(page: Page) -> None:
    """Unfold what the page folds."""
    page.evaluate("() => document.querySelectorAll('main details').forEach(one => { one.open = true; })")


def make_link(page: Page) -> None:
    """Make a link, which is shown once."""
    with page.expect_navigation():
        page.click("main form:has(input[name=places]) button")


def make_code(page: Page) -> None:
    """Make a link with a code beside it."""
    page.check("main input[name=with_code]")
    make_link(page)


GROUP_VISITS = (
    Visit("groups.all_groups", "none yet", who=cast.STRANGER),
    Visit("groups.all_groups", "three", who=cast.LEARNER, state=WORK),
    Visit("groups.all_groups", "sent empty", who=cast.STRANGER, then=send, expected=422),
    Visit("groups.group", "led", who=cast.KEEPER, state=WORK, where=group, then=open_all),
    Visit("groups.group", "been in", who=cast.LEARNER, state=WORK, where=group, then=open_all),
    Visit("groups.group", "archived", who=cast.LEARNER, state=WORK, where=lambda _: {"group_key": ARCHIVED}),
    Visit("groups.group", "anothers", who=cast.STRANGER, state=WORK, where=group, expected=404),
    Visit("groups.invite", who=cast.KEEPER, state=WORK, where=group),
    Visit("groups.invite", "link made", who=cast.KEEPER, state=WORK, where=group, then=make_link),
    Visit("groups.invite", "not led", who=cast.LEARNER, state=WORK, where=lambda _: {"group_key": GROUP}, expected=403),
    Visit("groups.invite", "link and code made", who=cast.KEEPER, state=WORK, where=group, then=make_code),
    Visit("groups.by_code", state=WORK),
    Visit("groups.by_code", "sent empty", who=cast.STRANGER, state=WORK, then=send, expected=422),
    Visit("account.join", "a group", state=WORK, where=by_link),
    Visit("account.join", "a group, signed in", who=cast.STRANGER, state=WORK, where=by_link),
    Visit("account.join", "a group, in it already", who=cast.LEARNER, state=WORK, where=by_link),
    Visit("keeper.people", "a group that nobody leads", who=cast.KEEPER, state=WORK, then=open_all),
    Visit("pictures.sharing", "offered and shared", who=cast.LEARNER, state=WORK, where=named(OFFERED), then=open_all),
    Visit("pictures.sharing", "accepted", who=cast.LEARNER, state=WORK, where=named(ACCEPTED), then=open_all),
    Visit("pictures.sharing", "private", who=cast.LEARNER, state=WORK, where=named(PRIVATE)),
    Visit("pictures.sharing", "sent empty", who=cast.LEARNER, state=WORK, where=named(PRIVATE), then=send, expected=422),
    Visit("pictures.my_pictures", "some shared, some not", who=cast.LEARNER, state=WORK, then=share_all, expected=422),
    Visit("pictures.my_pictures", "some offered, some not", who=cast.LEARNER, state=WORK, then=offer_all, expected=422),
    Visit("pictures.my_pictures", "offered to no catalogue", who=cast.LEARNER, state=WORK, then=offer_nowhere, expected=422),
    Visit("pictures.label", "nothing corrected", who=cast.LEARNER, state=WORK, where=named(PRIVATE)),
    Visit("pictures.label", "corrected", who=cast.LEARNER, state=WORK, where=named(OFFERED), then=open_all),
    Visit("curating.offers", "none", who=cast.KEEPER, where=lambda _: SMALL),
    Visit("curating.offers", "one", who=cast.KEEPER, state=WORK, where=lambda _: SMALL, then=open_all),
    Visit("curating.labels", "none", who=cast.KEEPER, where=lambda _: SMALL),
    Visit("curating.labels", "one", who=cast.KEEPER, state=WORK, where=lambda _: SMALL, then=open_all),
    Visit("curating.correct", who=cast.KEEPER, state=WORK, where=a_label),
    Visit("curating.correct", "anothers", who=cast.STRANGER, state=WORK, where=a_label, expected=404),
    Visit("learner.today", "after a label was corrected", who=cast.LEARNER, state=WORK),
)
