"""Sets a field test: which pictures there are is the practice's to say, which of them are of one scene the pictures'."""

from __future__ import annotations

from datetime import datetime
from random import Random

from sqlalchemy.orm import Session

from drillhall.core.clusters import InCluster, cluster_of
from drillhall.core.field_tests import Spare
from drillhall.people import audit
from drillhall.people.group import Group
from drillhall.practice.field_tests.setting import InStock, TestWanted, set_test, the_stock


def set_field_test(db: Session, group: Group, wanted: TestWanted, *, by: int, at: datetime, dice: Random) -> int:
    """Set a test to a group and return its id; pictures that look alike and were taken on one day are never asked together.

    Raises what `set_test` raises.
    """
    stock = the_stock(db, group.id, wanted.set_id, is_paid=group.is_paid, on=wanted.until.date())
    test_id = set_test(db, group.id, wanted, _spares(stock), by=by, at=at, dice=dice)
    audit.note(db, "field test set", at=at, by=by, subject=f"group {group.id}, test {test_id}")
    for account_id in sorted(wanted.extras):
        audit.note(db, "time given", at=at, by=by, subject=f"group {group.id}, account {account_id}, test {test_id}")
    return test_id


def _spares(stock: tuple[InStock, ...]) -> list[Spare]:
    known = [InCluster(one.picture_id, one.cluster, one.fingerprint, one.taken_on) for one in stock]
    scenes: dict[int, int] = {}
    for one in known:
        if one.picture_id not in scenes:
            scenes |= dict.fromkeys(cluster_of([one.picture_id], known), one.picture_id)
    return [Spare(one.picture_id, one.form_id, scenes[one.picture_id], one.seen_by) for one in stock]
