"""A drill in words: planned, answered, explained and told of; nothing of it in the counts of pictures."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from drillhall.errors import BadAnswer, Conflict, NotFound
from drillhall.practice import in_words
from drillhall.store.models.catalogue import StateRow, TakenSetRow, TraitRow
from drillhall.store.models.in_words import DescriptionRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import MemoryRow, SightRow, TallyRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall


def begin(db: Session, hall: SmallHall, *, days: int = 0) -> str:
    return in_words.start_words(db, hall.learner, drill_id=f"drill {days}", at=NOON + timedelta(days=days))


def say(db: Session, hall: SmallHall, drill: str, *, right: bool = True, days: int = 0) -> None:
    """Answer the bird that is asked."""
    bird = in_words.the_word_drill(db, hall.learner, drill, now=NOON + timedelta(days=days)).asked
    assert bird is not None
    form = db.get_one(DescriptionRow, bird.id).form_id
    said = form if right else bird.pair.other(form).id
    in_words.answer_words(db, hall.learner, drill, bird.id, (said, "certain"), at=NOON + timedelta(days=days, seconds=bird.place))


def say_all(db: Session, hall: SmallHall, drill: str, *, days: int = 0) -> None:
    while in_words.the_word_drill(db, hall.learner, drill, now=NOON + timedelta(days=days)).asked:
        say(db, hall, drill, days=days)


def test_a_drill_is_answered_to_its_end_and_counts_for_itself_alone(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        drill = begin(db, hall)
        first = in_words.the_word_drill(db, hall.learner, drill, now=NOON)
        assert first.asked is not None
        assert first.asked.told
        assert (first.asked.truth, first.asked.says) == (None, ())
        assert first.meets[0].trait.label == "Bill"
        assert first.of == 9
        say(db, hall, drill, right=False)
        say_all(db, hall, drill)
        end = in_words.the_word_drill(db, hall.learner, drill, now=NOON)
        assert (end.asked, len(end.answered), sum(bird.right for bird in end.answered)) == (None, 9, 8)
        assert all(bird.says for bird in end.answered)
        page = in_words.the_words(db, hall.learner, now=NOON)
        assert sorted((one.right, one.answered, one.held_running) for one in page.met) == [(2, 3, 0), (3, 3, 1), (3, 3, 1)]
        assert (page.open_drill, page.new) == ("", 0)
        assert db.scalars(select(MemoryRow)).all() == db.scalars(select(TallyRow)).all() == db.scalars(select(SightRow)).all() == []


def test_a_new_pair_is_met_before_its_first_bird_and_not_again(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        say(db, quick_hall, drill)
        assert in_words.the_word_drill(db, quick_hall.learner, drill, now=NOON).meets == ()


def test_a_drill_of_today_goes_on_and_tomorrow_has_another(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        assert in_words.start_words(db, quick_hall.learner, drill_id="other", at=NOON) == drill
        assert in_words.the_words(db, quick_hall.learner, now=NOON).open_drill == drill
        assert begin(db, quick_hall, days=1) == "drill 1"


def test_what_was_missed_comes_back_before_what_was_held(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        missed = db.scalars(select(DescriptionRow).order_by(DescriptionRow.place)).first()
        assert missed is not None
        say(db, quick_hall, drill, right=False)
        say_all(db, quick_hall, drill)
        again = begin(db, quick_hall, days=1)
        pairs = set(db.scalars(select(DescriptionRow.pair_id).where(DescriptionRow.drill_id == again)))
        assert pairs == {missed.pair_id}


def test_a_second_drill_of_a_day_meets_no_more_pairs_than_she_has_set(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.execute(update(AccountRow).where(AccountRow.id == quick_hall.learner).values(new_a_day=1))
        for drill in (begin(db, quick_hall), in_words.start_words(db, quick_hall.learner, drill_id="another", at=NOON)):
            say_all(db, quick_hall, drill)
        assert len(set(db.scalars(select(DescriptionRow.pair_id)))) == 1
        begin(db, quick_hall, days=1)
        assert len(set(db.scalars(select(DescriptionRow.pair_id)))) == 2


def test_the_first_answer_to_a_bird_counts(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        bird = in_words.the_word_drill(db, quick_hall.learner, drill, now=NOON).asked
        assert bird is not None
        for form in (bird.pair.first, bird.pair.second):
            assert in_words.answer_words(db, quick_hall.learner, drill, bird.id, (form.id, "possible"), at=NOON) == 0
        assert in_words.the_word_drill(db, quick_hall.learner, drill, now=NOON).answered[0].said == bird.pair.first


@pytest.mark.parametrize(("form", "sure", "why"), [(3, "certain", "among the choices"), (0, "certain", "among"), (0, "", "among")])
def test_what_was_not_told_is_no_answer(sqlite_store: Store, quick_hall: SmallHall, form: int, sure: str, why: str) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        bird = in_words.the_word_drill(db, quick_hall.learner, drill, now=NOON).asked
        assert bird is not None
        said = next(one for one in quick_hall.forms if one not in (bird.pair.first.id, bird.pair.second.id)) if form else 0
        with pytest.raises(BadAnswer, match=why):
            in_words.answer_words(db, quick_hall.learner, drill, bird.id, (said, sure), at=NOON)
        with pytest.raises(BadAnswer, match="how sure"):
            in_words.answer_words(db, quick_hall.learner, drill, bird.id, (bird.pair.first.id, "quite"), at=NOON)
        with pytest.raises(BadAnswer, match="none of this drill"):
            in_words.answer_words(db, quick_hall.learner, drill, 10_000, (bird.pair.first.id, "certain"), at=NOON)


def test_anothers_drill_is_not_there(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        for id_of_drill in (drill, "none"):
            with pytest.raises(NotFound):
                in_words.the_word_drill(db, quick_hall.stranger, id_of_drill, now=NOON)


def test_whoever_has_no_pairs_is_told_what_to_do(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        with pytest.raises(Conflict, match="take a set"):
            in_words.start_words(db, quick_hall.stranger, drill_id="any", at=NOON)
        page = in_words.the_words(db, quick_hall.stranger, now=NOON)
        assert (page.met, page.new, page.untold) == ((), 0, ())


def test_a_trait_retired_meanwhile_is_told_to_the_end_and_no_more_after_it(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        db.execute(update(TraitRow).values(retired_at=NOON))
        assert in_words.the_word_drill(db, quick_hall.learner, drill, now=NOON).asked
        say_all(db, quick_hall, drill)
        page = in_words.the_words(db, quick_hall.learner, now=NOON)
        assert len(page.untold) == 3
        later = in_words.the_words(db, quick_hall.learner, now=NOON + timedelta(days=40))
        assert (later.due, later.can_start, {one.back_on for one in later.met}) == (0, False, {None})
        assert in_words.the_word_drill(db, quick_hall.learner, drill, now=NOON).back_on == ()
        with pytest.raises(Conflict):
            begin(db, quick_hall, days=40)


def test_a_set_put_back_leaves_the_drill_and_what_was_said(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        say(db, quick_hall, drill)
        db.execute(delete(TakenSetRow))
        assert in_words.the_word_drill(db, quick_hall.learner, drill, now=NOON).asked
        say_all(db, quick_hall, drill)
        assert in_words.the_words(db, quick_hall.learner, now=NOON).met == ()


def test_a_bird_of_which_nothing_is_known_any_more_is_passed_over(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        drill = begin(db, quick_hall)
        before = in_words.the_word_drill(db, quick_hall.learner, drill, now=NOON).of
        row = db.scalars(select(DescriptionRow).order_by(DescriptionRow.place)).first()
        assert row is not None
        row.told = [["beard", "long"]]
        db.flush()
        assert in_words.the_word_drill(db, quick_hall.learner, drill, now=NOON).of == before - 1
        assert db.scalars(select(StateRow)).all()
