"""A corrected label: answers are judged by the form in force, as a rebuild would; undoing it gives every row back."""

from __future__ import annotations

import random
from datetime import datetime, timedelta
from threading import Thread

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.acts.correct_label import correct_label, undo_correction, what_would_change
from drillhall.core.labels import Label
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.pictures.labels import list_changes, the_label
from drillhall.practice import playing
from drillhall.practice.answering import store_answers
from drillhall.practice.drill_end import the_drill_end
from drillhall.practice.drilling import start_drill
from drillhall.practice.needs import list_fresh, missed_traits
from drillhall.practice.reviewing import the_standing
from drillhall.practice.shelf import take_set
from drillhall.practice.today import the_today
from drillhall.store.models.catalogue import CatalogueFormRow
from drillhall.store.models.people import AuditRow
from drillhall.store.models.pictures import LabelChangeRow, PictureRow
from drillhall.store.models.practice import RoundRow, ShowingRow, TallyRow
from drillhall.store.session import Store
from tests.practice.playing import answers_to, play
from tests.practice.rows import folded, is_as_rebuilt
from tests.practice.small_hall import NOON, SmallHall, make_small_hall


@pytest.fixture
def hall(store: Store) -> SmallHall:
    with store.work() as db:
        return make_small_hall(db)


def drill(store: Store, hall: SmallHall, days: int, *, since: int = 0, right: float = 1.0, who: int | None = None) -> None:
    dice = random.Random(since)
    for day in range(since, since + days):
        with store.work() as db:
            play(db, who or hall.learner, at=NOON + timedelta(days=day), knows=lambda view, question: dice.random() < right)


def a_shown(db: Session, *, form_id: int, pair_id: int, prompted: bool | None = None, choices: int | None = None, once: bool = True) -> int:
    """Return a picture of a form that was shown in a round of a pair; once in all, unless that is all one."""
    shown_once = select(ShowingRow.picture_id).group_by(ShowingRow.picture_id).having(func.count() == 1)
    query = select(ShowingRow).join(RoundRow).where(RoundRow.pair_id == pair_id, ShowingRow.form_id == form_id).order_by(ShowingRow.id)
    for showing in db.scalars(query.where(ShowingRow.picture_id.in_(shown_once)) if once else query):
        asked = next(ask for ask in showing.asks if ask["kind"] == "form")
        if prompted in (None, showing.prompted) and choices in (None, len(asked["choices"])):
            return showing.picture_id
    raise LookupError("no such showing was planned")


def shown_as(db: Session, pair_id: int) -> dict[int, int]:
    counts: dict[int, int] = {}
    for row in db.scalars(select(TallyRow).where(TallyRow.pair_id == pair_id)):
        counts[row.shown_form_id] = counts.get(row.shown_form_id, 0) + row.count
    return counts


def fresh_count(db: Session, hall: SmallHall) -> int:
    return sum(map(len, list_fresh(db, hall.learner, None, today=NOON.date()).values()))


def is_prompted(db: Session, picture_id: int) -> bool:
    return all(db.scalars(select(ShowingRow.prompted).where(ShowingRow.picture_id == picture_id)))


def test_a_right_answer_becomes_a_miss_and_back(store: Store, hall: SmallHall) -> None:
    drill(store, hall, 1)
    pair, (first, second) = hall.pairs[0], hall.forms[:2]
    with store.work() as db:
        before = folded(db)
        picture = a_shown(db, form_id=first, pair_id=pair)
        as_was = shown_as(db, pair)
        done = correct_label(db, picture, Label(second), by=hall.stranger, at=NOON + timedelta(days=1), note="Legs are pale")
    assert (done.changed, done.answers, done.learners) == (True, 1, 1)
    with store.look() as db:
        now = shown_as(db, pair)
        missed = [row for row in db.scalars(select(TallyRow)) if row.said_form_id != row.shown_form_id]
        assert the_label(db, picture) == Label(second)
        assert db.scalars(select(AuditRow.act)).all() == ["label corrected"]
    assert (now[first], now[second]) == (as_was[first] - 1, as_was[second] + 1)
    assert [(row.shown_form_id, row.said_form_id, row.count) for row in missed] == [(second, first, 1)]
    assert is_as_rebuilt(store)
    with store.work() as db:
        change = db.scalars(select(LabelChangeRow.id)).one()
        undo_correction(db, change, picture_id=picture, by=hall.stranger, at=NOON + timedelta(days=2))
    with store.look() as db:
        assert folded(db) == before


@pytest.mark.parametrize("label", ["another form of no pair", "either of two"])
def test_what_was_not_offered_counts_for_nothing(store: Store, hall: SmallHall, label: str) -> None:
    drill(store, hall, 1)
    pair = hall.pairs[0]
    new = Label(hall.forms[3]) if label.startswith("another") else Label(None, hall.forms[:2])  # type: ignore[arg-type]
    with store.work() as db:
        picture = a_shown(db, form_id=hall.forms[0], pair_id=pair, choices=2)
        before, fresh = shown_as(db, pair), fresh_count(db, hall)
        correct_label(db, picture, new, by=hall.stranger, at=NOON + timedelta(days=1))
        assert sum(shown_as(db, pair).values()) == sum(before.values()) - 1
        assert fresh_count(db, hall) in (fresh, fresh - 1)
        assert fresh_count(db, hall) == fresh - 1 or is_prompted(db, picture), "what was helped proves nothing anyway"
    assert is_as_rebuilt(store)


def test_neither_is_right_of_a_form_outside_the_pair_where_it_was_offered(store: Store, hall: SmallHall) -> None:
    drill(store, hall, 5)
    pair, outside = hall.pairs[0], hall.forms[3]
    with store.work() as db:
        picture = a_shown(db, form_id=hall.forms[0], pair_id=pair, choices=3, once=False)
        correct_label(db, picture, Label(outside), by=hall.stranger, at=NOON + timedelta(days=31))
        found = db.scalars(select(TallyRow).where(TallyRow.pair_id == pair, TallyRow.shown_form_id == outside)).all()
    assert found
    assert {row.said_form_id for row in found} == {hall.forms[0]}, "she said the form that it was taken for"
    assert {row.choices for row in found} == {3}
    assert is_as_rebuilt(store)


def test_a_prompt_counts_for_nothing_unless_the_state_is_the_same(store: Store, hall: SmallHall) -> None:
    """Bills: straight, curved, straight, curved; legs: dark, dark, dark, pale."""
    with store.work() as db:
        play(db, hall.learner, at=NOON, knows=lambda view, question: question.kind == "form")
        pair = hall.pairs[0]
        assert missed_traits(db, hall.learner, [pair]) == {pair: "bill"}
        prompted = select(ShowingRow).join(RoundRow).where(RoundRow.pair_id == pair, ShowingRow.prompted)
        shown = {row.picture_id: row.form_id for row in db.scalars(prompted)}
        assert set(shown.values()) == set(hall.forms[:2])
        for picture, form_id in shown.items():  # the first becomes a third with the same bill, the second one with another
            correct_label(db, picture, Label(hall.forms[2 if form_id == hall.forms[0] else 0]), by=hall.stranger, at=NOON)
        assert missed_traits(db, hall.learner, [pair]) == {pair: "bill"}
        for picture, form_id in shown.items():
            correct_label(db, picture, Label(hall.forms[1 if form_id == hall.forms[0] else 0]), by=hall.stranger, at=NOON)
        assert missed_traits(db, hall.learner, [pair]) == {}


@pytest.mark.parametrize("seed", [3, 11, 30])
def test_answers_and_corrections_in_any_order_give_what_a_rebuild_gives(store: Store, hall: SmallHall, seed: int) -> None:
    # What is answered has dice of its own, so that how many questions a plan asks does not decide which steps are taken.
    dice, knowing = random.Random(seed), random.Random(seed + 1)
    day, made = 0, 0
    for _ in range(10):
        with store.work() as db:
            at = NOON + timedelta(days=day, hours=3)
            shown = db.scalars(select(ShowingRow.picture_id).distinct().order_by(ShowingRow.picture_id)).all()
            changes = db.scalars(select(LabelChangeRow).where(LabelChangeRow.undone_at.is_(None)).order_by(LabelChangeRow.id)).all()
            step = dice.choice(["drill", "drill", "correct", "correct", "undo"])
            if step == "correct" and shown:
                one, other = dice.sample(hall.forms, 2)
                label = dice.choice([Label(one), Label(one), Label(None, (one, other))])
                made += correct_label(db, dice.choice(shown), label, by=hall.stranger, at=at).changed
            elif step == "undo" and changes:
                row = dice.choice(changes)
                undo_correction(db, row.id, picture_id=row.picture_id, by=hall.stranger, at=at)
            else:
                day += 1
                play(db, hall.learner, at=NOON + timedelta(days=day), knows=lambda view, question: knowing.random() < 0.7)
        assert is_as_rebuilt(store)
    assert made


@pytest.mark.parametrize("seed", [1, 2])
def test_corrections_undone_in_any_order_leave_what_was(store: Store, hall: SmallHall, seed: int) -> None:
    dice = random.Random(seed)
    drill(store, hall, 4, right=0.7)
    with store.look() as db:
        before, shown = folded(db), db.scalars(select(ShowingRow.picture_id).distinct().order_by(ShowingRow.picture_id)).all()
        labels = {row.id: (row.form_id, row.either_form_id, row.or_form_id) for row in db.scalars(select(PictureRow))}
    with store.work() as db:
        for number in range(12):
            correct_label(
                db, dice.choice(shown), Label(dice.choice(hall.forms)), by=hall.stranger, at=NOON + timedelta(days=9, minutes=number)
            )
    with store.work() as db:
        rows = list(db.scalars(select(LabelChangeRow).order_by(LabelChangeRow.id)))
        dice.shuffle(rows)
        for row in rows:
            undo_correction(db, row.id, picture_id=row.picture_id, by=hall.stranger, at=NOON + timedelta(days=10))
    with store.look() as db:
        assert len(rows) > 5
        assert {row.id: (row.form_id, row.either_form_id, row.or_form_id) for row in db.scalars(select(PictureRow))} == labels
        assert folded(db) == before


def test_everybody_who_answered_is_judged_anew_and_nobody_else(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        take_set(db, hall.stranger, hall.pair_set, at=NOON)
    drill(store, hall, 2, right=0.8)
    drill(store, hall, 2, right=0.8, who=hall.stranger)
    told: list[tuple[int, int]] = []
    with store.work() as db:
        seen = [set(db.scalars(select(ShowingRow.picture_id).where(ShowingRow.account_id == who))) for who in (hall.learner, hall.stranger)]
        both = min(seen[0] & seen[1])
        assert what_would_change(db, both).learners == 2
        old = the_label(db, both).form_id
        new = next(form for form in hall.forms if form != old)
        done = correct_label(
            db, both, Label(new), by=hall.stranger, at=NOON + timedelta(days=3), progress=lambda n, of: told.append((n, of))
        )
    assert (done.learners, told) == (2, [(1, 2), (2, 2)])
    assert is_as_rebuilt(store)


def test_an_answer_that_comes_late_is_judged_by_the_label_in_force(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        drill_id = start_drill(db, hall.learner, drill_id="00000000-0000-4000-8000-000000000001", at=NOON)
        answers = answers_to(playing.the_packet(db, hall.learner, drill_id, now=NOON), at=NOON)
        picture = a_shown(db, form_id=hall.forms[0], pair_id=hall.pairs[0])
    with store.work() as db:
        correct_label(db, picture, Label(hall.forms[1]), by=hall.stranger, at=NOON + timedelta(hours=1))
    with store.work() as db:
        stored = store_answers(db, hall.learner, answers, received_at=NOON + timedelta(hours=2))
        assert not stored.refused
        assert any(row.said_form_id == hall.forms[0] for row in db.scalars(select(TallyRow)) if row.shown_form_id == hall.forms[1])
    assert is_as_rebuilt(store)


def test_her_pages_count_by_the_label_in_force_and_say_so(store: Store, hall: SmallHall) -> None:
    drill(store, hall, 1)
    with store.work() as db:
        picture = a_shown(db, form_id=hall.forms[0], pair_id=hall.pairs[0])
        drill_id = db.scalars(select(RoundRow.drill_id)).first()
        assert drill_id is not None
        right = sum(one.right for one in the_drill_end(db, hall.learner, drill_id, now=NOON).rounds)
        correct_label(db, picture, Label(hall.forms[1]), by=hall.stranger, at=NOON + timedelta(hours=2))
        later = NOON + timedelta(days=3)
        assert sum(one.right for one in the_drill_end(db, hall.learner, drill_id, now=later).rounds) == right - 1
        probable = next(line for line in the_standing(db, hall.learner, now=later).calibration if line.sure.value == "probable")
        assert probable.forecast.right == probable.forecast.said - 1
        assert the_today(db, hall.learner, now=later).judged_anew == the_today(db, hall.learner, now=NOON + timedelta(days=1)).judged_anew
        told = the_today(db, hall.learner, now=later).judged_anew
        assert (told.pictures, told.answers) == (1, 1)
        assert the_today(db, hall.learner, now=NOON + timedelta(days=20)).judged_anew.answers == 0
        assert the_today(db, hall.stranger, now=later).judged_anew.answers == 0


def test_a_picture_that_was_never_labelled_is_labelled_without_a_correction(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        picture = db.scalars(select(PictureRow)).first()
        assert picture is not None
        picture.form_id = None
        db.flush()
        assert correct_label(db, picture.id, Label(hall.forms[0]), by=hall.learner, at=NOON).changed
        assert list_changes(db, picture_id=picture.id) == ()
        assert not correct_label(db, picture.id, Label(hall.forms[0]), by=hall.learner, at=NOON).changed


def test_what_cannot_be_corrected_or_undone_is_refused(store: Store, hall: SmallHall) -> None:
    at = NOON + timedelta(days=1)
    with store.work() as db:
        picture, other = db.scalars(select(PictureRow).where(PictureRow.form_id == hall.forms[0])).all()[:2]
        with pytest.raises(Invalid):
            correct_label(db, picture.id, Label(9999), by=hall.stranger, at=at)
        with pytest.raises(Invalid):
            correct_label(db, picture.id, Label(hall.forms[1]), by=hall.stranger, at=at, note="x" * 301)
        correct_label(db, picture.id, Label(hall.forms[1]), by=hall.stranger, at=at)
        change = db.scalars(select(LabelChangeRow.id)).one()
        with pytest.raises(NotFound):
            undo_correction(db, change, picture_id=other.id, by=hall.stranger, at=at)
        undo_correction(db, change, picture_id=picture.id, by=hall.stranger, at=at)
        with pytest.raises(Conflict):
            undo_correction(db, change, picture_id=picture.id, by=hall.stranger, at=at)


def test_a_form_that_a_holding_catalogue_does_not_know_is_refused(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        entry = db.scalars(select(CatalogueFormRow).where(CatalogueFormRow.form_id == hall.forms[2])).one()
        entry.retired_at = NOON
        picture = db.scalars(select(PictureRow.id).where(PictureRow.form_id == hall.forms[0])).first()
        assert picture is not None
        with pytest.raises(Invalid, match="does not know that form"):
            correct_label(db, picture, Label(hall.forms[2]), by=hall.stranger, at=NOON)


def test_an_answer_and_a_correction_at_once_agree_with_a_rebuild(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        drill_id = start_drill(db, hall.learner, drill_id="00000000-0000-4000-8000-000000000002", at=NOON)
        answers = answers_to(playing.the_packet(db, hall.learner, drill_id, now=NOON), at=NOON)
        picture = a_shown(db, form_id=hall.forms[0], pair_id=hall.pairs[0])

    def answer(at: datetime = NOON + timedelta(hours=1)) -> None:
        with store.work() as db:
            store_answers(db, hall.learner, answers, received_at=at)

    waiting = Thread(target=answer)
    with store.work() as db:
        correct_label(db, picture, Label(hall.forms[1]), by=hall.stranger, at=NOON)
        waiting.start()
        waiting.join(0.3)
        assert waiting.is_alive(), "the answers must wait for the correction"
    waiting.join(20)
    assert not waiting.is_alive()
    assert is_as_rebuilt(store)
