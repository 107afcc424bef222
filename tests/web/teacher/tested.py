"""A field test set to a group, and a sitting of it, as values for the arguments of routes."""

from __future__ import annotations

from datetime import timedelta
from random import Random
from typing import Any

from sqlalchemy import select

from drillhall.acts.set_field_test import set_field_test
from drillhall.people.group import Group
from drillhall.practice.field_tests.setting import PairWanted, TestWanted
from drillhall.practice.shelf import list_sets
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.pictures import FileRow
from tests.visits import Hall, Visitor


def a_sitting(hall: Hall, group_key: str, sitter: Visitor) -> dict[str, Any]:
    """Set a test to a group and let somebody begin it; return what leads to both, by argument."""
    at = hall.clock()
    with hall.store.work() as db:
        row = db.scalars(select(GroupRow).where(GroupRow.public_id == group_key)).one()
        group = Group(row.id, row.public_id, row.title, row.kind, row.is_paid, None, "leader")
        pair = db.scalars(select(PairRow).order_by(PairRow.id)).first()
        assert pair is not None
        set_id = list_sets(db, 0)[0].id
        wanted = TestWanted("A test", set_id, (PairWanted(pair.id),), 1, at, at + timedelta(hours=1))
        test_id = set_field_test(db, group, wanted, by=row.id, at=at, dice=Random(1))
        width_px = db.scalars(select(FileRow.width_px).where(FileRow.rendition == "as taken", FileRow.size_name != "original")).first()
    address = str(sitter.post(f"/field-tests/{test_id}/begin").location)
    return {
        "test_id": test_id,
        "set_id": set_id,
        "sitting_id": address.split("/")[-2],
        "place": 1,
        "width_px": width_px,
        "table": "questions",
        "file_format": "json",
    }
