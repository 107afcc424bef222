"""Two concepts that were learnt apart become one and are parted again: the log stays, counts follow, undoing gives every row back."""

from __future__ import annotations

import random
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from drillhall.acts.erase_person import erase_person
from drillhall.acts.join_concepts import part_unsaid
from drillhall.catalogues import joined
from drillhall.core.terms import CONGRUENT
from drillhall.errors import Invalid, NotFound
from drillhall.pictures.storage import FolderStorage
from drillhall.practice import joined as told
from drillhall.practice import playing
from drillhall.practice.answering import store_answers
from drillhall.practice.drill_end import the_drill_end
from drillhall.practice.drilling import start_drill
from drillhall.practice.logged import logged_rounds
from drillhall.practice.today import the_today
from drillhall.store.base import Row
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePairRow, CataloguePictureRow, CatalogueRow, TakenSetRow
from drillhall.store.models.concepts import ConceptMappingRow, ConceptRow, FormRow, PairRow
from drillhall.store.models.joins import ConceptJoinMoveRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import MemoryRow, RoundRow, TallyRow
from drillhall.store.moving import FOLDS, references_to
from drillhall.store.queries.curating import sure_said
from drillhall.store.session import Store
from tests.practice.playing import answers_to, play
from tests.practice.rows import answers, is_as_rebuilt, rows_of
from tests.practice.small_hall import NAMES, NOON, SmallHall, make_small_hall

MADE = {"pair", "concept_mapping", "audit", "hall_rate"}
"""Tables in which a joining leaves something behind, or from which a job sums anew."""


@pytest.fixture
def hall(store: Store) -> SmallHall:
    return learnt(store, days=3)


@pytest.fixture
def one_hall(sqlite_store: Store) -> SmallHall:
    return learnt(sqlite_store, days=2)


def learnt(store: Store, *, days: int) -> SmallHall:
    """Return a hall of which somebody has learnt every pair for some days."""
    with store.work() as db:
        hall = make_small_hall(db)
    for day in range(days):
        with store.work() as db:
            dice = random.Random(day)
            play(db, hall.learner, at=NOON + timedelta(days=day), knows=lambda view, question, dice=dice: dice.random() < 0.5)  # type: ignore[misc]
    return hall


def hand_over(db: Session, hall: SmallHall, form: int) -> None:
    """Let another catalogue teach a form, with its pictures and its pairs, from which this one has retired it."""
    other = CatalogueRow(key="other", title="Other", subject="bird", list_name="Other list", made_at=NOON, changed_at=NOON)
    db.add(other)
    db.flush()
    form_id = hall.forms[form]
    beside = {side for pair in db.scalars(select(PairRow)) for side in (pair.first_form_id, pair.second_form_id)} - {form_id}
    db.execute(update(CatalogueFormRow).where(CatalogueFormRow.form_id == form_id).values(retired_at=NOON))
    db.add_all(CatalogueFormRow(catalogue_id=other.id, form_id=one, key=f"other-{one}") for one in (form_id, *sorted(beside)))
    theirs = select(PairRow.id).where((PairRow.first_form_id == form_id) | (PairRow.second_form_id == form_id))
    db.execute(update(CataloguePairRow).where(CataloguePairRow.pair_id.in_(theirs)).values(retired_at=NOON))
    for pair_id in db.scalars(theirs).all():
        db.add(CataloguePairRow(catalogue_id=other.id, pair_id=pair_id, key=f"other-{pair_id}"))
    pictures = select(PictureRow.id).where(PictureRow.form_id == form_id)
    db.execute(update(CataloguePictureRow).where(CataloguePictureRow.picture_id.in_(pictures)).values(catalogue_id=other.id))
    db.flush()


def concept_of(form: int) -> str:
    return f"example:{NAMES[form]}"


def say_same(db: Session, hall: SmallHall, one: int, two: int) -> None:
    ids = [db.scalars(select(ConceptRow.id).where(ConceptRow.taxon_concept_id == concept_of(form))).one() for form in (one, two)]
    db.add(ConceptMappingRow(catalogue_id=hall.catalogue, subject_id=ids[0], object_id=ids[1], relation=CONGRUENT))


def make_one(db: Session, hall: SmallHall, one: int, two: int) -> joined.Joined:
    say_same(db, hall, one, two)
    join = joined.join(db, concept_of(one), concept_of(two), by=hall.stranger, at=NOON)
    told.fold_anew(db, join.pairs)
    told.note_learners(db, join.join_id, join.fell_away)
    return join


def take_back(db: Session, hall: SmallHall) -> int:
    db.execute(delete(ConceptMappingRow))
    return part_unsaid(db, by=hall.stranger, at=NOON)


def everything(db: Session) -> dict[str, list[tuple[Any, ...]]]:
    return {
        mapper.class_.__tablename__: rows_of(db, mapper.class_)
        for mapper in Row.registry.mappers
        if mapper.class_.__tablename__ not in MADE
    }


def test_two_learnt_pairs_become_one_history_and_two_again(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        hand_over(db, hall, 2)
    with store.look() as db:
        was, log = everything(db), answers(db)
        rounds = {pair: len(logged_rounds(db, hall.learner, [pair])[pair]) for pair in hall.pairs}
        foreseen = told.foresee(db, {hall.forms[2]}, {hall.forms[0]})
    assert (foreseen.learners, foreseen.rounds, foreseen.pairs, foreseen.fall_away) == (1, rounds[hall.pairs[1]], 1, 0)
    with store.work() as db:
        make_one(db, hall, 2, 0)
    assert is_as_rebuilt(store)
    with store.look() as db:
        assert answers(db) == log, "no answer is rewritten"
        kept = logged_rounds(db, hall.learner, hall.pairs)
        assert {pair: len(found) for pair, found in kept.items()} == {
            hall.pairs[0]: rounds[hall.pairs[0]] + rounds[hall.pairs[1]],
            hall.pairs[2]: rounds[hall.pairs[2]],
        }
        assert {row.pair_id for row in db.scalars(select(MemoryRow))} == {hall.pairs[0], hall.pairs[2]}
        named = {form for row in db.scalars(select(TallyRow)) for form in (row.shown_form_id, row.said_form_id)}
        assert hall.forms[2] not in named
        witnessed = [one.said for one in sure_said(db, hall.catalogue, [hall.pairs[0]])]
        assert str(hall.forms[0]) in witnessed
        assert str(hall.forms[2]) not in witnessed
        assert sum(row[-1] for row in rows_of(db, TallyRow)) == sum(row[-1] for row in was["tally"]), "no answer is lost from the counts"
        notice = told.list_notices(db, hall.learner)
        assert [(one.one, one.other, one.rounds, one.fell_away) for one in notice] == [
            ("Shore mudpiper (Fictavis shore)", "Lesser mudpiper (Fictavis lesser)", rounds[hall.pairs[1]], 0)
        ]
        assert told.list_notices(db, hall.stranger) == ()
        the_today(db, hall.learner, now=NOON + timedelta(days=9))
    with store.work() as db:
        assert take_back(db, hall) == 1
    with store.look() as db:
        assert everything(db) == was
    assert is_as_rebuilt(store)


def test_the_pair_of_the_two_themselves_counts_for_nothing_any_more(sqlite_store: Store, one_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        hand_over(db, one_hall, 1)
        db.execute(update(CatalogueFormRow).where(CatalogueFormRow.key == f"other-{one_hall.forms[0]}").values(retired_at=NOON))
    with sqlite_store.look() as db:
        was, log = everything(db), answers(db)
        apart = len(logged_rounds(db, one_hall.learner, one_hall.pairs[:1])[one_hall.pairs[0]])
    with sqlite_store.work() as db:
        make_one(db, one_hall, 1, 0)
    assert is_as_rebuilt(sqlite_store)
    with sqlite_store.look() as db:
        assert answers(db) == log
        assert not db.scalars(select(MemoryRow).where(MemoryRow.pair_id == one_hall.pairs[0])).all()
        assert not db.scalars(select(TallyRow).where(TallyRow.pair_id == one_hall.pairs[0])).all()
        assert [(one.fell_away, one.rounds > 0) for one in told.list_notices(db, one_hall.learner)] == [(apart, True)]
        the_today(db, one_hall.learner, now=NOON + timedelta(days=8))
    with sqlite_store.work() as db:
        take_back(db, one_hall)
    with sqlite_store.look() as db:
        assert everything(db) == was


def test_a_drill_on_a_phone_is_answered_as_it_was_asked(sqlite_store: Store, one_hall: SmallHall) -> None:
    at = NOON + timedelta(days=20)
    with sqlite_store.work() as db:
        hand_over(db, one_hall, 2)
        drill_id = start_drill(db, one_hall.learner, drill_id="00000000-0000-7000-8000-000000000001", at=at)
        packet = playing.the_packet(db, one_hall.learner, drill_id, now=at)
        make_one(db, one_hall, 2, 0)
    with sqlite_store.look() as db:
        again = playing.the_packet(db, one_hall.learner, drill_id, now=at)
        choices = {
            choice.label for view in again.rounds for showing in view.showings for one in showing.questions for choice in one.choices
        }
        assert NAMES[0] in choices
        assert NAMES[2] not in choices
    with sqlite_store.work() as db:
        stored = store_answers(db, one_hall.learner, answers_to(packet, at=at), received_at=at + timedelta(hours=1))
        assert not stored.refused
        ended = the_drill_end(db, one_hall.learner, drill_id, now=at + timedelta(hours=1))
        assert ended.rounds
        assert all(one.right == one.shown for one in ended.rounds)
    assert is_as_rebuilt(sqlite_store)


def test_what_hangs_on_one_that_is_parted_is_joined_again(sqlite_store: Store, one_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        hand_over(db, one_hall, 2)
        make_one(db, one_hall, 2, 0)
        db.execute(update(CatalogueFormRow).where(CatalogueFormRow.form_id == one_hall.forms[3]).values(retired_at=NOON))
        make_one(db, one_hall, 3, 0)
        both = everything(db)
        told_as = {row.id: row.told_as for row in db.scalars(select(FormRow))}
        assert (told_as[one_hall.forms[2]], told_as[one_hall.forms[3]]) == (one_hall.forms[0], one_hall.forms[0])
        first = db.scalars(select(ConceptMappingRow).order_by(ConceptMappingRow.id)).first()
        db.delete(first)
        db.flush()
        part_unsaid(db, by=one_hall.stranger, at=NOON)
        told_as = {row.id: row.told_as for row in db.scalars(select(FormRow))}
        assert (told_as[one_hall.forms[2]], told_as[one_hall.forms[3]]) == (None, one_hall.forms[0])
        make_one(db, one_hall, 2, 0)
        again = everything(db)
        assert {name: again[name] for name in FOLDS - MADE} == {name: both[name] for name in FOLDS - MADE}, "whichever was joined first"
    assert is_as_rebuilt(sqlite_store)


def test_rounds_that_come_to_bear_the_numbers_of_an_erased_persons_are_not_put_back(
    sqlite_store: Store, one_hall: SmallHall, storage: FolderStorage
) -> None:
    with sqlite_store.work() as db:
        db.execute(update(AccountRow).where(AccountRow.id == one_hall.stranger).values(is_keeper=True))
        hand_over(db, one_hall, 2)
        make_one(db, one_hall, 2, 0)
    erase_person(sqlite_store, storage, one_hall.learner, leave_licensed=False, by=None, at=NOON)
    with sqlite_store.work() as db:
        assert not db.scalars(select(ConceptJoinMoveRow).where(ConceptJoinMoveRow.table_name.in_(("round", "showing")))).all()
        db.add(TakenSetRow(account_id=one_hall.stranger, pair_set_id=one_hall.pair_set, taken_at=NOON))
        db.flush()
        play(db, one_hall.stranger, at=NOON, knows=lambda view, question: True)
        theirs = dict(db.execute(select(RoundRow.id, RoundRow.pair_id)).all())
        take_back(db, one_hall)
        assert theirs == dict(db.execute(select(RoundRow.id, RoundRow.pair_id)).all())


def test_two_that_a_catalogue_teaches_side_by_side_stay_apart(sqlite_store: Store, one_hall: SmallHall) -> None:
    with sqlite_store.look() as db, pytest.raises(Invalid, match="side by side"):
        joined.find_apart(db, concept_of(0), concept_of(1))
    with sqlite_store.look() as db:
        assert joined.find_apart(db, concept_of(0), "example:nobody") is None
        with pytest.raises(NotFound):
            told.put_away(db, one_hall.learner, 1, at=NOON)


def test_a_notice_is_put_away_once(sqlite_store: Store, one_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        hand_over(db, one_hall, 2)
        join = make_one(db, one_hall, 2, 0)
        told.put_away(db, one_hall.learner, join.join_id, at=NOON)
        assert told.list_notices(db, one_hall.learner) == ()


def test_every_column_that_names_a_form_or_a_pair_is_moved() -> None:
    walked = {*references_to("form"), *references_to("pair"), *joined.SAID}
    named = {
        column
        for table in Row.metadata.tables.values()
        for column in table.columns
        if column.name.endswith(("form_id", "pair_id")) and table.name not in FOLDS | {"pair"}
    }
    entries = {column for column in named if column.name.startswith("catalogue_")}
    assert named - walked - entries == set()
