"""The scarce forms of a set, by the stewards' words, each with the pairs of which a rarity drill may be begun."""

from __future__ import annotations

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.practice.rarity import MOST_ODDS, scarce_forms
from drillhall.store.models.catalogue import CatalogueFormRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall


def call(db: Session, hall: SmallHall, *words: str) -> list[tuple[str, str, int, tuple[int, int]]]:
    """Say how common the forms are, in their order, and return what the page lists."""
    said = dict(zip(hall.forms, words, strict=False))
    for row in db.scalars(select(CatalogueFormRow)):
        row.commonness = said.get(row.form_id, "")
    db.flush()
    found = scarce_forms(db, hall.learner, hall.pair_set, now=NOON)
    return [(one.form.name, one.common, one.one_in, (one.pair.first.id, one.pair.second.id)) for one in found.forms]


def test_each_is_listed_with_its_pairs_and_the_odds_of_the_words_the_scarcest_first(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        one, two, three, four = hall.forms
        listed = call(db, hall, "common", "scarce", "", "rare")
        # common 30 to scarce 3: one in 11; unsaid is fairly common, 10 to 3: one in 4; common 30 to rare 1: one in 31
        assert listed == [
            ("Reed mudpiper", "rare", 31, (one, four)),
            ("Greater mudpiper", "scarce", 11, (one, two)),
            ("Greater mudpiper", "scarce", 4, (two, three)),
        ]


@pytest.mark.parametrize("words", [(), ("common", "common"), ("fairly common", "common"), ("rare", "rare", "very rare", "rare")])
def test_where_none_is_scarcer_than_the_other_there_is_nothing(sqlite_store: Store, quick_hall: SmallHall, words: tuple[str, ...]) -> None:
    with sqlite_store.work() as db:
        listed = call(db, quick_hall, *words)
        assert [pair for _, _, _, pair in listed] == ([quick_hall.forms[1:3]] if "very rare" in words else [])


def test_the_odds_stay_within_what_a_drill_takes(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        assert call(db, quick_hall, "abundant", "very rare")[0][2] == MOST_ODDS


def test_a_set_that_is_not_hers_is_not_there(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        for account, pair_set in ((quick_hall.stranger, quick_hall.pair_set), (quick_hall.learner, 999)):
            with pytest.raises(NotFound, match="no such pair set among yours"):
                scarce_forms(db, account, pair_set, now=NOON)
