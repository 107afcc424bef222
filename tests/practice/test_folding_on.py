"""A batch folded on to what is stored comes to the same rows as a rebuild, whatever happened in between."""

from __future__ import annotations

import random
import uuid
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.practice import answering, own_numbers
from drillhall.practice.answering import NewAnswer, store_answers
from drillhall.practice.folding import rebuild, refold_pictures
from drillhall.practice.joined import fold_anew
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import DrillRow, MemoryRow, ParameterSetRow, RoundRow, ShowingRow
from drillhall.store.session import Store
from tests.practice.rows import folded
from tests.practice.small_hall import NOON, SmallHall
from tests.practice.test_own_numbers import OFFER

DAY = timedelta(days=1)


class Whole:
    """Counts how often pairs of a batch are folded whole."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.pairs, folding = 0, answering.refold_pairs

        def counted(db: Session, account_id: int, pair_ids: set[int]) -> None:
            self.pairs += len(pair_ids)
            folding(db, account_id, pair_ids)

        monkeypatch.setattr(answering, "refold_pairs", counted)


@pytest.fixture
def whole(monkeypatch: pytest.MonkeyPatch) -> Whole:
    return Whole(monkeypatch)


def plan(db: Session, hall: SmallHall, dice: random.Random, *, days: int, rounds: int = 3, every: timedelta = DAY) -> list[list[NewAnswer]]:
    """Plan drills, of few pictures that come again and again, and return the answers to each, one in five of them wrong."""
    pictures = {form: db.scalars(select(PictureRow.id).where(PictureRow.form_id == form).limit(4)).all() for form in hall.forms}
    given = []
    for day in range(days):
        at = NOON + day * every
        drill = DrillRow(id=name(dice), account_id=hall.learner, zone="UTC", planned_at=at, planned_day=at.date(), until=at + DAY)
        drill.minutes, drill.showing_ms, drill.pace_ms = 5, 8000, 5000
        db.add(drill)
        db.flush()
        answers: list[NewAnswer] = []
        for place in range(rounds):
            pair = db.get_one(PairRow, dice.choice(hall.pairs))
            logged = RoundRow(drill_id=drill.id, account_id=hall.learner, pair_id=pair.id, catalogue_id=hall.catalogue, place=place)
            logged.why, logged.rounds_before = "due", 0
            db.add(logged)
            db.flush()
            shown = [a_showing(logged, pair, number, pictures, dice) for number in range(3)]
            db.add_all(shown)
            db.flush()
            for showing in shown:
                answers += answers_to_it(showing, at + timedelta(minutes=place, seconds=9 * showing.place), dice)
        given.append(answers)
    return given


def a_showing(logged: RoundRow, pair: PairRow, place: int, pictures: dict[int, Sequence[int]], dice: random.Random) -> ShowingRow:
    sides = (pair.first_form_id, pair.second_form_id)
    form, other = dice.sample(sides, 2)
    choices = [str(one) for one in sides]
    asks = [{"kind": "form", "choices": choices, "key": str(form), "trait": ""}]
    if prompted := dice.random() < 0.3:
        asks = [{"kind": "trait", "choices": ["1", "2"], "key": "1", "trait": "bill"}, *asks]
    row = ShowingRow(round_id=logged.id, account_id=logged.account_id, place=place, picture_id=dice.choice(pictures[form]), form_id=form)
    row.first_sight, row.fresh, row.prompted, row.asks = True, dice.random() < 0.8, prompted, asks
    if dice.random() < 0.15:
        row.beside_id, row.prompted = dice.choice(pictures[other]), False
        row.asks = [{"kind": "beside", "choices": ["0", "1"], "key": "0", "trait": ""}]
    return row


def answers_to_it(showing: ShowingRow, at: datetime, dice: random.Random) -> list[NewAnswer]:
    given = []
    for place, ask in enumerate(showing.asks):
        said = ask["key"] if dice.random() < 0.8 else dice.choice(ask["choices"])
        sure = dice.choice(("certain", "possible")) if ask["kind"] == "form" else None
        given.append(NewAnswer(name(dice), showing.id, place, said, sure, 2.0, False, at + timedelta(seconds=place)))
    return given


def name(dice: random.Random) -> str:
    return str(uuid.UUID(int=dice.getrandbits(128), version=4))


def relabel(db: Session, hall: SmallHall, dice: random.Random) -> None:
    """Say that a picture shown to her shows another form."""
    picture = db.get_one(PictureRow, dice.choice(sorted(set(db.scalars(select(ShowingRow.picture_id))))))
    picture.form_id = dice.choice(hall.forms)
    db.flush()
    refold_pictures(db, [picture.id])


def join(db: Session, hall: SmallHall, dice: random.Random) -> None:
    """Let one form stand for another in all that was asked and said."""
    lost, kept = dice.sample(hall.forms, 2)
    db.execute(update(PictureRow).where(PictureRow.form_id == lost).values(form_id=kept))
    db.execute(update(ShowingRow).where(ShowingRow.renamed.is_(None)).values(renamed={str(lost): str(kept)}))
    fold_anew(db, hall.pairs)


def take_numbers(db: Session, hall: SmallHall, dice: random.Random) -> None:
    own_numbers.keep_offer(db, hall.learner, OFFER, at=NOON)
    db.flush()
    offered = select(ParameterSetRow.id).where(ParameterSetRow.taken_at.is_(None)).order_by(ParameterSetRow.id)
    own_numbers.take_set(db, hall.learner, db.scalars(offered).all()[-1], at=NOON + timedelta(seconds=dice.random()))


def batches_of(days: list[list[NewAnswer]], dice: random.Random) -> list[list[NewAnswer]]:
    """Cut what was answered into batches: some come days late, some answers come twice, and to some questions there is a second one."""
    batches = [(place + (dice.random() < 0.2) * dice.randint(1, 12), one) for place, one in enumerate(cut(days, 4))]
    sent = [one for _, one in sorted(batches, key=lambda told: told[0])]
    again = [[one for one in batch if dice.random() < 0.1] for batch in sent]
    seconds = [[replace(one, id=name(dice), said=one.said, at=later(one, dice), hint=True) for one in few] for few in again]
    return [[*batch, *twice, *second] for batch, twice, second in zip(sent, again[-1:] + again[:-1], seconds, strict=True)]


def cut(days: list[list[NewAnswer]], size: int) -> list[list[NewAnswer]]:
    return [answers[place : place + size] for answers in days for place in range(0, len(answers), size)]


def later(one: NewAnswer, dice: random.Random) -> datetime:
    return one.at + timedelta(seconds=dice.choice((-3, 0, 3)))


def test_whatever_happened_it_is_what_a_rebuild_comes_to(store: Store, hall: SmallHall, whole: Whole) -> None:
    """Batches in order, late and sent twice, second thoughts, pictures relabelled, forms joined, and numbers of her own."""
    batches = live_through(store, hall, random.Random(1))
    assert 0 < whole.pairs < batches


def test_so_it_is_where_pictures_come_to_be_fresh_again(sqlite_store: Store, quick_hall: SmallHall) -> None:
    live_through(sqlite_store, quick_hall, random.Random(2), every=31 * DAY)


def live_through(store: Store, hall: SmallHall, dice: random.Random, *, every: timedelta = DAY) -> int:
    """Send what is planned, look whether a rebuild agrees, and return how many batches that were."""
    with store.work() as db:
        batches = batches_of(plan(db, hall, dice, days=4, every=every), dice)
        for batch in batches:
            assert not store_answers(db, hall.learner, batch, received_at=NOON + 20 * every).refused
            if dice.random() < 0.2:
                dice.choice((relabel, relabel, take_numbers, join))(db, hall, dice)
            if dice.random() < 0.15:
                agree(db)
        agree(db)
    return len(batches)


def agree(db: Session) -> None:
    db.expire_all()
    before = folded(db)
    rebuild(db)
    db.expire_all()
    assert folded(db) == before


def test_a_log_that_comes_in_order_is_never_folded_whole(store: Store, hall: SmallHall, whole: Whole) -> None:
    dice = random.Random(3)
    with store.work() as db:
        for batch in cut(plan(db, hall, dice, days=3), 5):
            assert store_answers(db, hall.learner, batch, received_at=NOON + 20 * DAY).stored
        agree(db)
    assert whole.pairs == 0


def test_a_relabelled_picture_that_a_round_waits_for_ends_the_round(sqlite_store: Store, quick_hall: SmallHall) -> None:
    """Two of three pictures named rightly; the third, it turns out, shows neither form and is no part of the round."""
    dice = random.Random(4)
    with sqlite_store.work() as db:
        (answers,) = plan(db, quick_hall, dice, days=1, rounds=1)
        shown = db.scalars(select(ShowingRow).order_by(ShowingRow.place)).all()
        for place, showing in enumerate(shown):
            pair = db.get_one(PairRow, db.get_one(RoundRow, showing.round_id).pair_id)
            pictures = db.scalars(select(PictureRow.id).where(PictureRow.form_id == pair.first_form_id)).all()
            key = str(pair.first_form_id)
            showing.asks = [{"kind": "form", "choices": [key, str(pair.second_form_id)], "key": key, "trait": ""}]
            showing.picture_id, showing.form_id, showing.beside_id, showing.prompted = pictures[place], pair.first_form_id, None, False
        db.flush()
        first = [replace(answers[0], id=name(dice), showing=showing.id, ask=0, said=key, sure="certain") for showing in shown[:2]]
        assert store_answers(db, quick_hall.learner, first, received_at=NOON + DAY).stored
        assert db.scalars(select(MemoryRow)).first() is None
        waited_for = db.get_one(PictureRow, shown[2].picture_id)
        waited_for.form_id = next(form for form in quick_hall.forms if str(form) not in shown[2].asks[0]["choices"])
        db.flush()
        refold_pictures(db, [waited_for.id])
        assert db.scalars(select(MemoryRow.last_outcome)).one() == "held"
        agree(db)
