"""How long what is over is kept, and that what is not over stays."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import select, update

from drillhall.errors import Invalid
from drillhall.people import accounts, retention
from drillhall.people.retention import Retention
from drillhall.store.base import Row
from drillhall.store.models.people import AccountRow, SettingRow
from drillhall.store.session import Store
from tests.filled import AT, Filler

OVER = {
    "audit": {"at": AT},
    "sign_in": {"until": AT},
    "one_time_link": {"until": AT, "used_at": None},
    "calendar_link": {"ended_at": AT},
    "invitation": {"until": AT, "ended_at": None},
    "attempt": {"window_start": AT},
}


@pytest.fixture
def keeper(store: Store) -> int:
    with store.work() as db:
        filler = Filler(db)
        keeper = filler.fill(lambda _: "Runa", is_keeper=True)
        for name, values in OVER.items():
            db.execute(update(Row.metadata.tables[name]).values(values))
    return keeper


def left(store: Store, at: Any) -> set[str]:
    with store.work() as db:
        retention.forget_past(db, at=at)
        return {name for name in OVER if db.execute(select(Row.metadata.tables[name])).first() is not None}


def test_each_is_forgotten_when_its_span_is_over_and_not_before(store: Store, keeper: int) -> None:
    assert left(store, AT + timedelta(days=2)) == set(OVER)
    assert left(store, AT + timedelta(days=2, seconds=1)) == set(OVER) - {"attempt"}
    assert left(store, AT + timedelta(days=7, seconds=1)) == {"audit"}
    assert left(store, AT + timedelta(days=365)) == {"audit"}
    assert left(store, AT + timedelta(days=365, seconds=1)) == set()


def test_what_still_holds_is_not_forgotten_however_old(store: Store, keeper: int) -> None:
    late = AT + timedelta(days=3000)
    with store.work() as db:
        for name in ("sign_in", "one_time_link", "invitation"):
            db.execute(update(Row.metadata.tables[name]).values(until=late + timedelta(days=1)))
        db.execute(update(Row.metadata.tables["calendar_link"]).values(ended_at=None))
    assert left(store, late) == {"sign_in", "one_time_link", "invitation", "calendar_link"}


def test_the_hall_keeps_to_what_its_keeper_has_set(store: Store, keeper: int) -> None:
    with store.work() as db:
        by = accounts.the_person_of(db, keeper)
        retention.set_retention(db, Retention(audit=1, sign_ins=2, letters=3, closed_accounts=4), by=by, at=AT)
        assert retention.the_retention(db) == Retention(1, 2, 3, 4)
    assert left(store, AT + timedelta(days=2, seconds=2)) == set()


@pytest.mark.parametrize("days", [0, -1, 3651])
@pytest.mark.parametrize("name", [one.name for one in fields(Retention)])
def test_a_span_that_cannot_be_meant_is_refused_by_name(sqlite_store: Store, name: str, days: int) -> None:
    with sqlite_store.work() as db:
        by = accounts.make_account(db, name="Runa", passphrase="a lantern hangs below the stairs", at=AT, is_keeper=True)
        with pytest.raises(Invalid) as refused:
            retention.set_retention(db, replace(Retention(), **{name: days}), by=by, at=AT)
        assert refused.value.field == name
        assert retention.the_retention(db) == Retention()


def test_a_setting_of_another_release_is_read_as_far_as_it_is_known(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        db.add(SettingRow(key=retention.SETTING, value={"audit": 5, "tea": 9}))
        db.flush()
        assert retention.the_retention(db) == Retention(audit=5)


def test_accounts_closed_long_ago_are_named_and_those_in_use_are_not(store: Store, keeper: int) -> None:
    with store.work() as db:
        db.execute(update(AccountRow).values(retired_at=AT))
        span = timedelta(days=Retention().closed_accounts)
        assert retention.list_past_closing(db, at=AT + span) == ()
        assert retention.list_past_closing(db, at=AT + span + timedelta(seconds=1)) == (keeper,)
        db.execute(update(AccountRow).values(retired_at=None))
        assert retention.list_past_closing(db, at=AT + timedelta(days=9000)) == ()
