"""The learner's pages beside her drill that the walk visits: working a form out, looking ahead, trying a pair."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace

from playwright.sync_api import Page
from sqlalchemy import select

from drillhall.errors import Conflict
from drillhall.people import accounts
from drillhall.people.accounts import list_accounts
from drillhall.practice import in_words, joined, rarity, trying
from drillhall.store.models.concepts import ConceptRow, PairRow
from drillhall.store.models.in_words import WordDrillRow
from drillhall.store.models.joins import ConceptJoinNoticeRow, ConceptJoinRow
from drillhall.store.models.rarity import RarityDrillRow
from tests import cast
from tests.browser.measured import measure_bills
from tests.browser.visiting import Values, Visit
from tests.hall import Hall

FIDDLERS = 1
"""The one pair set of the small catalogue."""


def marked(_hall: Hall) -> Values:
    """Give the address of the set with one trait marked."""
    return {"pair_set_id": FIDDLERS, "seen.bill": "bent"}


def measured(hall: Hall) -> Values:
    """Measure some forms, and give the address of the set with one value in the hand."""
    measure_bills(hall)
    return {"pair_set_id": FIDDLERS, "measured.bill": "41"}


def a_measured_pair(hall: Hall) -> Values:
    """Measure some forms, and give the address of a pair of them."""
    measure_bills(hall)
    return {"pair_id": 1}


def a_trial(pair_id: int) -> Callable[[Hall], Values]:
    """Begin a trial of one of the learner's pairs, or take hers up, and give its address."""

    def find(hall: Hall) -> Values:
        drill_id = str(uuid.UUID(int=70 + pair_id, version=4))
        with hall.store.work() as db, suppress(Conflict):  # it is over already
            learner = next(one.id for one in list_accounts(db) if one.name == cast.LEARNER.name)
            trying.start_trial(db, learner, pair_id, drill_id=drill_id, at=hall.clock.now)
        return {"trial_id": drill_id}

    return find


def a_rarity_drill(number: int) -> Callable[[Hall], Values]:
    """Begin a rarity drill of the learner's first pair and give its address."""

    def find(hall: Hall) -> Values:
        drill_id = str(uuid.UUID(int=90 + number, version=4))
        with hall.store.work() as db:
            learner = next(one.id for one in list_accounts(db) if one.name == cast.LEARNER.name)
            if db.get(RarityDrillRow, drill_id) is None:
                rare = db.get_one(PairRow, 1).second_form_id
                rarity.start_rarity(db, learner, rarity.RarityWish(1, rare, 2, 2), drill_id=drill_id, at=hall.clock.now)
        return {"rarity_id": drill_id}

    return find


def a_word_drill(answered: int = 0) -> Callable[[Hall], Values]:
    """Begin the learner's drill in words, or take it up, answer so many birds as the first form, and give its address."""

    def find(hall: Hall) -> Values:
        drill_id = str(uuid.UUID(int=110, version=4))
        with hall.store.work() as db:
            learner = next(one.id for one in list_accounts(db) if one.name == cast.LEARNER.name)
            if db.get(WordDrillRow, drill_id) is None:
                in_words.start_words(db, learner, drill_id=drill_id, at=hall.clock.now)
            while True:
                page = in_words.the_word_drill(db, learner, drill_id, now=hall.clock.now)
                if page.asked is None or len(page.answered) >= answered:
                    return {"word_drill_id": drill_id}
                said = (page.asked.pair.first.id, "certain")
                in_words.answer_words(db, learner, drill_id, page.asked.id, said, at=hall.clock.now)

    return find


def words_told(*, right: bool) -> Callable[[Hall], Values]:
    """Return how the address of a bird is found that was answered rightly, or wrongly."""

    def find(hall: Hall) -> Values:
        values = a_word_drill(6)(hall)
        with hall.store.look() as db:
            learner = next(one.id for one in list_accounts(db) if one.name == cast.LEARNER.name)
            page = in_words.the_word_drill(db, learner, str(values["word_drill_id"]), now=hall.clock.now)
        return {**values, "told": next(bird.place for bird in page.answered if bird.right is right)}

    return find


def words_done(hall: Hall) -> Values:
    """Answer a whole drill in words; the page has no parts in its address."""
    a_word_drill(99)(hall)
    return {}


def words_wished(hall: Hall) -> Values:
    """Let the learner wish to have birds told."""
    with hall.store.work() as db:
        learner = hall.people[cast.LEARNER]
        accounts.set_preferences(db, learner, replace(learner.preferences, in_words=True), at=hall.clock.now)
    return {}


def became_one(hall: Hall) -> Values:
    """Let the learner be told that two concepts became one."""
    with hall.store.work() as db:
        learner = next(one.id for one in list_accounts(db) if one.name == cast.LEARNER.name)
        if joined.list_notices(db, learner):
            return {}
        one, other = db.scalars(select(ConceptRow.id).order_by(ConceptRow.id).limit(2))
        join = ConceptJoinRow(subject_id=one, object_id=other, at=hall.clock.now)
        db.add(join)
        db.flush()
        db.add(ConceptJoinNoticeRow(join_id=join.id, account_id=learner, rounds=4, fell_away=1))
    return {}


def put_notice_away(page: Page) -> None:
    """Read that two became one, and have it put away."""
    page.get_by_text("are one since").wait_for()
    with page.expect_navigation():
        page.get_by_role("button", name="I have read it").click()
    assert page.get_by_text("are one since").count() == 0


def begin_two(page: Page) -> None:
    """Leave the pair that is met."""
    page.get_by_role("link", name="Begin with these two").click()
    page.wait_for_load_state("networkidle")


def fail(page: Page) -> None:
    """Answer every picture as the first form, until enough is said."""
    while page.locator(".rung").count():
        page.locator(".rung").first.click()
    page.wait_for_load_state("networkidle")


LEARNER_VISITS = (
    Visit("learner.numbers", who=cast.LEARNER),
    Visit("learner.trial", "a picture asked", who=cast.LEARNER, where=a_trial(1)),
    Visit("learner.trial", "over", who=cast.LEARNER, where=a_trial(2), then=fail),
    Visit("learner.scarce_forms", who=cast.LEARNER, where=lambda _: {"pair_set_id": FIDDLERS}),
    Visit("learner.scarce_forms", "a set not taken", who=cast.STRANGER, where=lambda _: {"pair_set_id": FIDDLERS}, expected=404),
    Visit("learner.choose_rarity", who=cast.LEARNER, where=lambda _: {"pair_id": 1}),
    Visit("learner.rarity_drill", "a picture asked", who=cast.LEARNER, where=a_rarity_drill(1)),
    Visit("learner.rarity_drill", "over", who=cast.LEARNER, where=a_rarity_drill(2), then=fail),
    Visit("learner.words", who=cast.LEARNER),
    Visit("learner.words", "with nothing taken", who=cast.STRANGER),
    Visit("learner.words", "after a drill", who=cast.LEARNER, state="a_drill_ended", where=words_done),
    Visit("learner.standing", "two became one", who=cast.LEARNER, state="a_drill_begun", where=became_one),
    Visit("learner.today", "two became one", who=cast.LEARNER, state="a_drill_begun", where=became_one, then=put_notice_away),
    Visit("learner.today", "in words", who=cast.LEARNER, state="a_drill_begun", where=words_wished),
    Visit("learner.word_drill", "a pair to meet", who=cast.LEARNER, state="a_drill_begun", where=a_word_drill()),
    Visit("learner.word_drill", "a bird asked", who=cast.LEARNER, state="a_drill_begun", where=a_word_drill(), then=begin_two),
    Visit("learner.word_drill", "a bird right", who=cast.LEARNER, state="a_drill_within", where=words_told(right=True)),
    Visit("learner.word_drill", "a bird missed", who=cast.LEARNER, state="a_drill_within", where=words_told(right=False)),
    Visit("learner.word_drill", "over", who=cast.LEARNER, state="a_drill_ended", where=a_word_drill(99)),
    Visit("learner.look_ahead", "before the first drill", who=cast.STRANGER),
    Visit("learner.look_ahead", "a week after a drill", who=cast.LEARNER, state="a_week_later"),
    Visit(
        "learner.look_ahead", "a day too far", who=cast.LEARNER, state="a_week_later", where=lambda _: {"by": "2099-01-01"}, expected=422
    ),
    Visit("learner.work_out", who=cast.LEARNER),
    Visit("learner.work_out", "with nothing taken", who=cast.STRANGER),
    Visit("learner.work_out_set", "one trait marked", who=cast.LEARNER, where=marked),
    Visit("learner.work_out_set", "measured in the hand", who=cast.LEARNER, where=measured),
    Visit("learner.meet", "measured in the hand", who=cast.LEARNER, where=a_measured_pair),
    Visit(
        "learner.work_out_set",
        "a word that is no state",
        who=cast.LEARNER,
        where=lambda _: {"pair_set_id": FIDDLERS, "seen.bill": "hooked"},
        expected=422,
    ),
    Visit("learner.work_out_set", "a set not taken", who=cast.STRANGER, where=marked, expected=404),
)
