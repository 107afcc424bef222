"""Counting answers to an open question, on either engine: none is lost when many come at once, and the first fixes the picture."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from typing import Any

import pytest
from sqlalchemy.exc import IntegrityError

from drillhall.errors import Conflict
from drillhall.store.models.catalogue import CatalogueRow, PairSetRow
from drillhall.store.models.concepts import ConceptRow, FormRow, PairRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.open_questions import OpenDayRow, OpenQuestionRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.queries.open_questions import add_answer, all_answers, answers_of_day
from drillhall.store.session import Store

AT, DAY = datetime(2031, 3, 3, 9, tzinfo=UTC), date(2031, 3, 3)
SHOWN: dict[str, Any] = {"pair_id": 1, "picture_id": 1}


@pytest.fixture
def asked(store: Store) -> Store:
    with store.work() as db:
        db.add(ConceptRow(id=1, taxon_concept_id="x"))
        db.flush()
        db.add_all([FormRow(id=number, concept_id=1, sex=f"{number}") for number in (1, 2)])
        db.add(CatalogueRow(id=1, key="mud", title="Mud", subject="bird", list_name="x", made_at=AT, changed_at=AT))
        db.add(GroupRow(id=1, public_id="g", title="G", made_at=AT))
        db.flush()
        db.add_all([PairRow(id=1, first_form_id=1, second_form_id=2), PairSetRow(id=1, catalogue_id=1, key="s", title="S")])
        for number in (1, 2):
            sizes = {"width_px": 9, "height_px": 9, "content_sha256": f"{number}" * 64, "fingerprint": number}
            db.add(PictureRow(id=number, public_id=f"p{number}", form_id=1, made_at=AT, **sizes))
        db.flush()
        named = {"public_id": "q", "title": "Q", "zone": "UTC", "seed": "0", "feed_id": "tag:x,2031-03-03:q"}
        db.add(OpenQuestionRow(id=1, group_id=1, pair_set_id=1, first_day=DAY, made_at=AT, **named))
    return store


def test_answers_that_come_at_once_are_all_counted(asked: Store) -> None:
    def one(number: int) -> None:
        with asked.work() as db:
            add_answer(db, 1, DAY, said_form_id=1 + number % 2, **SHOWN)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(one, range(40)))
    with asked.look() as db:
        assert answers_of_day(db, 1, DAY) == {1: 20, 2: 20}
        assert sorted(all_answers(db, [1])) == [(1, DAY, 1, 1, 1, 20), (1, DAY, 1, 1, 2, 20)]


def test_the_first_answer_of_a_day_fixes_its_picture(asked: Store) -> None:
    with asked.work() as db:
        add_answer(db, 1, DAY, said_form_id=1, **SHOWN)
    with asked.work() as db:
        add_answer(db, 1, DAY, said_form_id=1, **(SHOWN | {"picture_id": 2}))
    with asked.look() as db:
        assert db.get_one(OpenDayRow, (1, DAY)).picture_id == 1


def test_an_answer_to_nothing_is_refused(asked: Store) -> None:
    with pytest.raises((Conflict, IntegrityError)), asked.work() as db:
        add_answer(db, 99, DAY, said_form_id=1, **SHOWN)
    with asked.look() as db:
        assert all_answers(db, [99]) == []
