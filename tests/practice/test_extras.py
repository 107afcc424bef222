"""An extra in a drill: shown in its rendition, tallied under it, and no part of the round's rating."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import timedelta

from sqlalchemy import select

from drillhall.practice import playing
from drillhall.practice.answering import store_answers
from drillhall.practice.drilling import start_drill
from drillhall.practice.needs import list_fresh
from drillhall.store.models.pictures import FileRow, RightsRow
from drillhall.store.models.practice import MemoryRow, TallyRow
from drillhall.store.session import Store
from tests.practice.playing import answers_to, play
from tests.practice.rows import folded
from tests.practice.small_hall import NOON, SmallHall


def keep_shapes(store: Store) -> None:
    with store.work() as db:
        for row in db.scalars(select(FileRow)).all():
            copy = {name: getattr(row, name) for name in ("picture_id", "media_type", "width_px", "height_px", "bytes")}
            shape = FileRow(size_name="shape", recipe=f"{row.id:032x}"[::-1], storage_key=f"shape {row.id}", rendition="shape only", **copy)
            db.add(shape)


def test_missed_extras_cost_nothing_and_are_counted_apart(sqlite_store: Store, quick_hall: SmallHall) -> None:
    keep_shapes(sqlite_store)
    learner, missed = quick_hall.learner, 0
    for day in (0, 4, 12, 26, 50):
        at = NOON + timedelta(days=day)
        with sqlite_store.work() as db:
            drill = start_drill(db, learner, drill_id=str(uuid.uuid4()), at=at)
            packet = playing.the_packet(db, learner, drill, now=at)
            extras = {one.id: one for view in packet.rounds for one in view.showings if one.rendition != "as taken"}
            assert all(one.picture.changed for one in extras.values())
            answers = answers_to(packet, at=at)
            for place, answer in enumerate(answers):
                if answer.showing in extras:
                    (asked,) = extras[answer.showing].questions
                    wrong = next(choice.key for choice in asked.choices if choice.key != asked.key)
                    answers[place] = replace(answer, said=wrong)
                    missed += 1
            assert not store_answers(db, learner, answers, received_at=at + timedelta(hours=1)).refused
    assert missed, "there should be an extra in some drill"
    with sqlite_store.look() as db:
        assert set(db.scalars(select(MemoryRow.last_outcome))) == {"held"}
        assert sum(db.scalars(select(TallyRow.count).where(TallyRow.rendition == "shape only"))) == missed
        fresh = list_fresh(db, learner, None, today=NOON.date() + timedelta(days=50))
        assert all(answer.right for found in fresh.values() for answer in found)
        assert folded(db)["tally"]


def test_a_picture_that_may_not_be_altered_is_shown_as_taken(sqlite_store: Store, quick_hall: SmallHall) -> None:
    keep_shapes(sqlite_store)
    with sqlite_store.work() as db:
        for rights in db.scalars(select(RightsRow)):
            rights.may_alter = False
    for day in (0, 4, 12, 26):
        with sqlite_store.work() as db:
            packet = play(db, quick_hall.learner, at=NOON + timedelta(days=day))
    assert {one.rendition.value for view in packet.rounds for one in view.showings} == {"as taken"}
