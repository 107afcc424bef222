"""A rarity drill: feedback in the warm-up alone, both measures apart, and nothing of it in standing or memory."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.rounds.rarity import WARM_UP
from drillhall.errors import BadAnswer, Conflict, Invalid, NotFound
from drillhall.practice.folding import rebuild
from drillhall.practice.rarity import RarityPage, RarityWish, answer_rarity, start_rarity, the_rarity
from drillhall.store.models.catalogue import CataloguePictureRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import MemoryRow, ShowingRow, SightRow, TallyRow
from drillhall.store.models.rarity import RarityShowingRow
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.rows import folded
from tests.practice.small_hall import NOON, SmallHall


def begin(db: Session, hall: SmallHall, one_in: int = 4, showings: int = 80) -> str:
    wish = RarityWish(hall.pairs[0], hall.forms[1], one_in, showings)
    return start_rarity(db, hall.learner, wish, drill_id="a", at=NOON)


def answer_all(db: Session, hall: SmallHall, drill: str, *, says_rare: bool | None = None) -> list[RarityPage]:
    """Answer to the end, rightly or always the same; return the pages seen."""
    pages = [the_rarity(db, hall.learner, drill, now=NOON)]
    while pages[-1].showing_id is not None:
        row = db.get_one(RarityShowingRow, pages[-1].showing_id)
        said = row.form_id if says_rare is None else hall.forms[1] if says_rare else hall.forms[0]
        answer_rarity(db, hall.learner, drill, row.id, said, at=NOON + timedelta(seconds=len(pages)))
        pages.append(the_rarity(db, hall.learner, drill, now=NOON))
    return pages


def test_it_is_told_in_the_warm_up_alone_and_comes_to_both_measures(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        pages = answer_all(db, hall, begin(db, hall))
        assert [page.told is not None for page in pages] == [False] + [True] * WARM_UP + [False] * 80
        end = pages[-1].end
        assert end is not None
        assert (end.found, end.called_rare, end.rare + end.common) == (end.rare, 0, 80)
        assert end.told is not None
        assert end.told.d_prime > 3
        assert db.scalars(select(MemoryRow)).all() == db.scalars(select(TallyRow)).all() == []


def test_one_who_never_says_the_rare_name_leans_and_tells_nothing_apart(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        end = answer_all(db, quick_hall, begin(db, quick_hall), says_rare=False)[-1].end
    assert end is not None
    assert end.told is not None
    assert (end.found, end.called_rare) == (0, 0)
    assert abs(end.told.d_prime) < 1.5
    assert end.told.criterion > 1


def test_with_few_rare_ones_counts_stand_alone(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        end = answer_all(db, quick_hall, begin(db, quick_hall, one_in=2, showings=4))[-1].end
    assert end is not None
    assert end.rare >= 2
    assert end.told is None


def test_what_it_showed_is_no_first_sight_afterwards_and_a_rebuild_knows_it(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        answer_all(db, quick_hall, begin(db, quick_hall))
        seen = set(db.scalars(select(SightRow.picture_id)))
        assert len(seen) == 24
        rebuild(db)
        assert set(db.scalars(select(SightRow.picture_id))) == seen
        play(db, quick_hall.learner, at=NOON + timedelta(days=1))
        rows = db.scalars(select(ShowingRow).where(ShowingRow.picture_id.in_(seen))).all()
        assert rows
        assert not any(row.first_sight or row.fresh for row in rows)
        before = folded(db)
        rebuild(db)
        assert folded(db) == before


def test_a_picture_withdrawn_meanwhile_is_passed_over(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        first = db.get_one(RarityShowingRow, the_rarity(db, quick_hall.learner, drill, now=NOON).showing_id)
        db.get_one(CataloguePictureRow, (quick_hall.catalogue, first.picture_id)).retired_at = NOON
        db.flush()
        page = the_rarity(db, quick_hall.learner, drill, now=NOON)
        assert page.showing_id != first.id
        assert page.of < WARM_UP + 80


def test_said_twice_the_first_counts(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        showing = the_rarity(db, quick_hall.learner, drill, now=NOON).showing_id
        assert showing is not None
        for form in quick_hall.forms[:2]:
            answer_rarity(db, quick_hall.learner, drill, showing, form, at=NOON)
        assert db.get_one(RarityShowingRow, showing).said_form_id == quick_hall.forms[0]


def test_what_is_refused(sqlite_store: Store, quick_hall: SmallHall) -> None:
    hall, bad = quick_hall, RarityWish(quick_hall.pairs[0], quick_hall.forms[1], 1, 60)
    with sqlite_store.work() as db:
        with pytest.raises(Invalid, match="One in 1"):
            start_rarity(db, hall.learner, bad, drill_id="b", at=NOON)
        with pytest.raises(NotFound):
            start_rarity(db, hall.learner, RarityWish(hall.pairs[0], hall.forms[3], 4, 60), drill_id="b", at=NOON)
        with pytest.raises(NotFound):
            start_rarity(db, hall.stranger, RarityWish(hall.pairs[0], hall.forms[1], 4, 60), drill_id="b", at=NOON)
        drill = begin(db, hall)
        showing = the_rarity(db, hall.learner, drill, now=NOON).showing_id or 0
        with pytest.raises(NotFound):
            the_rarity(db, hall.stranger, drill, now=NOON)
        with pytest.raises(BadAnswer, match="none of this drill"):
            answer_rarity(db, hall.learner, drill, 10**6, hall.forms[0], at=NOON)
        with pytest.raises(BadAnswer, match="among the choices"):
            answer_rarity(db, hall.learner, drill, showing, hall.forms[3], at=NOON)
        for row in db.scalars(select(PictureRow).where(PictureRow.form_id == hall.forms[1])):
            row.owner_id = hall.learner
        db.flush()
        with pytest.raises(Conflict, match="too few pictures"):
            start_rarity(db, hall.learner, RarityWish(hall.pairs[0], hall.forms[1], 4, 60), drill_id="c", at=NOON)
