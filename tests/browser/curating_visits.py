"""The pages about a catalogue's pictures that the walk visits."""

from __future__ import annotations

from playwright.sync_api import Page
from sqlalchemy import select

from drillhall.store.models.concepts import PairRow
from drillhall.store.models.pictures import PictureRow
from tests import cast
from tests.browser.visiting import Values, Visit
from tests.hall import Hall

WORK = "a_catalogue_to_curate"
JOIN = "() => { const form = document.querySelector('form[action$=one-scene]'); form.noValidate = true; form.requestSubmit(); }"


def small(_hall: Hall) -> Values:
    """Name the small catalogue."""
    return {"key": "small-estuary"}


def first_pair(hall: Hall) -> Values:
    """Name the first pair of the small catalogue."""
    with hall.store.look() as db:
        return {**small(hall), "pair_id": db.scalars(select(PairRow.id).order_by(PairRow.id)).first()}


def told_apart_by_setting(hall: Hall) -> Values:
    """Let the first pair's pictures differ in setting, and name it."""
    with hall.store.work() as db:
        pair = db.scalars(select(PairRow).order_by(PairRow.id)).first()
        assert pair is not None
        for row in db.scalars(select(PictureRow)):
            row.setting = "mud" if row.form_id == pair.first_form_id else "grass"
    return first_pair(hall)


def join_without_use(page: Page) -> None:
    """Say of a scene on both sides that it is one, without saying where it goes."""
    with page.expect_navigation():
        page.evaluate(JOIN)


CURATING_VISITS = (
    *(
        Visit(f"curating.{page}", what, who=cast.KEEPER, state=state, where=small)
        for page in ("curating", "wanted", "twins", "doubts", "shortcuts", "credited")
        for what, state in (("with nothing to judge", "nothing_yet"), ("with doubts and twins", WORK))
    ),
    Visit("curating.wanted", "for one who drills from it", who=cast.LEARNER, where=small),
    Visit("curating.wanted", "for somebody else", who=cast.STRANGER, where=small, expected=404),
    Visit("curating.curating", "for somebody else", who=cast.LEARNER, where=small, expected=404),
    Visit("curating.twins", "without a use", who=cast.KEEPER, state=WORK, where=small, then=join_without_use, expected=422),
    Visit("curating.shortcut", "a pair that nothing much gives away", who=cast.KEEPER, where=first_pair),
    Visit("curating.shortcut", "a pair told apart by its setting", who=cast.KEEPER, state=WORK, where=told_apart_by_setting),
)
