"""Tries are counted in the database, by window, and two processes never lose one."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime, timedelta
from threading import Thread

import pytest
from sqlalchemy import func, select

from drillhall.errors import TooMany
from drillhall.people import limits
from drillhall.people.limits import Limit, forget_tries, place_of, spend_try
from drillhall.store.models.people import AttemptRow
from drillhall.store.session import Store
from drillhall.words import say

AT = datetime(2031, 3, 3, 9, 5, tzinfo=UTC)
THREE = Limit("three", say("Too many tries to knock."), 3, timedelta(minutes=10))


def _spend(store: Store, *who: str, at: datetime = AT, limit: Limit = THREE) -> None:
    with store.work() as db:
        spend_try(db, limit, *who, at=at)


def test_after_its_share_a_window_refuses_and_says_how_long_to_wait(store: Store) -> None:
    for _ in range(3):
        _spend(store, "oda")
    with pytest.raises(TooMany, match=r"Too many tries to knock. Try again in 5 minutes.") as caught:
        _spend(store, "oda")
    assert caught.value.wait_seconds == 300


def test_others_and_the_next_window_have_their_own_share(store: Store) -> None:
    for _ in range(3):
        _spend(store, "oda")
    _spend(store, "pell")
    _spend(store, "oda", "elsewhere")
    _spend(store, "oda", at=AT + timedelta(minutes=5))
    with pytest.raises(TooMany):
        _spend(store, "oda", at=AT + timedelta(minutes=4))


def test_a_right_try_clears_the_count(store: Store) -> None:
    for _ in range(3):
        _spend(store, "oda")
    with store.work() as db:
        forget_tries(db, THREE, "oda")
    _spend(store, "oda")


def test_what_is_typed_as_a_name_is_not_written_down(sqlite_store: Store) -> None:
    _spend(sqlite_store, "seven wet boots by the sluice")
    with sqlite_store.look() as db:
        assert "boots" not in db.scalars(select(AttemptRow.subject)).one()


def test_old_windows_are_swept(sqlite_store: Store) -> None:
    _spend(sqlite_store, "oda")
    _spend(sqlite_store, "oda", at=AT + timedelta(days=3))
    with sqlite_store.look() as db:
        assert db.scalar(select(func.count()).select_from(AttemptRow)) == 1


def test_many_at_once_are_all_counted(store: Store) -> None:
    refused: list[str] = []

    def knock() -> None:
        for _ in range(5):
            try:
                _spend(store, "oda", limit=Limit("many", say("Too many tries to knock."), 12, timedelta(minutes=10)))
            except TooMany as error:
                refused.append(error.sentence)

    threads = [Thread(target=knock) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(refused) == 20 - 12


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("192.0.2.7", "192.0.2.8", False),
        ("2001:db8:1:2::1", "2001:db8:1:2:ffff::9", True),
        ("2001:db8:1:2::1", "2001:db8:1:3::1", False),
        ("fe80::1%eth0", "fe80::2%eth1", True),
        (None, "not an address", True),
    ],
)
def test_a_place_is_an_address_or_a_household_of_them(one: str | None, other: str, same: bool) -> None:
    assert (place_of(one) == place_of(other)) is same


@pytest.mark.parametrize(("seconds", "words"), [(1, "a minute"), (61, "2 minutes"), (900, "15 minutes"), (86_000, "about 24 hours")])
def test_waits_are_toldwait_in_words(seconds: int, words: str) -> None:
    assert limits.wait_in_words(seconds) == words


def test_a_stranger_elsewhere_does_not_lock_somebody_out_soon() -> None:
    assert limits.SIGN_IN_NAME.most >= 10 * limits.SIGN_IN_ONE.most


SPENDER = """
import sys
from datetime import UTC, datetime
from drillhall.errors import TooMany
from drillhall.people.limits import SIGN_IN_ONE, spend_try
from drillhall.store.session import Store

store, taken = Store(sys.argv[1]), 0
for _ in range(SIGN_IN_ONE.most):
    try:
        with store.work() as db:
            spend_try(db, SIGN_IN_ONE, "oda", "192.0.2.7", at=datetime(2031, 3, 3, 9, tzinfo=UTC))
        taken += 1
    except TooMany:
        pass
store.close()
print(taken)
"""


def test_two_processes_share_one_count(store: Store) -> None:
    command = [sys.executable, "-c", SPENDER, store.url]
    both = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(2)]
    taken = [int(one.communicate(timeout=60)[0]) for one in both]
    assert sum(taken) == limits.SIGN_IN_ONE.most
