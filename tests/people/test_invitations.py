"""Invitations: places, ends, and two who want the last place."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import delete

from drillhall.errors import Invalid, NameTaken, NotAllowed, NotFound
from drillhall.people import accounts, hall, invitations
from drillhall.people.person import Person
from drillhall.store.models.people import SettingRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEARNER, STRANGER, Someone

AT = datetime(2031, 3, 3, 9, tzinfo=UTC)


@pytest.fixture
def keeper(store: Store) -> Person:
    with store.work() as db:
        return accounts.make_account(db, name=KEEPER.name, passphrase=KEEPER.passphrase, at=AT, is_keeper=True)


def _invite(store: Store, keeper: Person, places: int = 1, days: int = 14) -> str:
    with store.work() as db:
        return invitations.invite(db, by=keeper, at=AT, places=places, days=days, note="Thursday's walk")


def _join(store: Store, token: str, someone: Someone, at: datetime = AT) -> Person:
    with store.work() as db:
        return invitations.join(db, token, name=someone.name, passphrase=someone.passphrase, at=at)


def test_a_link_lets_in_as_many_as_it_has_places(store: Store, keeper: Person) -> None:
    token = _invite(store, keeper, places=2)
    assert not _join(store, token, LEARNER).is_keeper
    _join(store, token, STRANGER)
    with pytest.raises(NotFound, match="all its places are taken"):
        _join(store, token, Someone("A third", "a third passphrase here", "UTC"))
    with store.look() as db:
        (one,) = invitations.list_invitations(db)
    assert (one.taken, one.places, one.note, one.is_good(AT)) == (2, 2, "Thursday's walk", False)


def test_a_join_that_fails_takes_no_place(store: Store, keeper: Person) -> None:
    token = _invite(store, keeper)
    with pytest.raises(NameTaken):
        _join(store, token, Someone(KEEPER.name.upper(), LEARNER.passphrase, "UTC"))
    with pytest.raises(Invalid):
        _join(store, token, Someone(LEARNER.name, "short", "UTC"))
    assert _join(store, token, LEARNER)


@pytest.mark.parametrize("end", ["over", "ended", "wrong"])
def test_a_link_that_is_over_lets_nobody_in(store: Store, keeper: Person, end: str) -> None:
    token = _invite(store, keeper)
    if end == "ended":
        with store.work() as db:
            invitations.end_invitation(db, invitations.list_invitations(db)[0].id, by=keeper, at=AT)
    with pytest.raises(NotFound, match="does not work, or no longer"):
        _join(store, token[:-1] if end == "wrong" else token, LEARNER, at=AT + timedelta(days=14 if end == "over" else 1))


@pytest.mark.parametrize(("places", "days", "field"), [(0, 14, "places"), (201, 14, "places"), (1, 0, "days"), (1, 91, "days")])
def test_an_invitation_is_bounded(store: Store, keeper: Person, places: int, days: int, field: str) -> None:
    with pytest.raises(Invalid) as caught:
        _invite(store, keeper, places, days)
    assert caught.value.field == field


def test_ending_what_is_not_there_is_told(store: Store, keeper: Person) -> None:
    with pytest.raises(NotFound), store.work() as db:
        invitations.end_invitation(db, 7, by=keeper, at=AT)


def test_a_hall_is_joined_by_invitation_until_its_keeper_opens_it(store: Store) -> None:
    with pytest.raises(NotAllowed, match="joined by invitation"), store.work() as db:
        invitations.join_openly(db, name=LEARNER.name, passphrase=LEARNER.passphrase, at=AT)
    with store.work() as db:
        hall.set_open(db, is_open=True)
    with store.work() as db:
        assert invitations.join_openly(db, name=LEARNER.name, passphrase=LEARNER.passphrase, at=AT).name == LEARNER.name
    with store.work() as db:
        hall.set_open(db, is_open=False)
        assert not hall.is_open(db)


def test_the_secret_of_the_hall_is_made_once_and_long(store: Store) -> None:
    with store.work() as db:
        assert hall.find_secret_key(db) is None
        made = hall.make_secret_key(db)
        assert hall.make_secret_key(db) == made
        db.execute(delete(SettingRow).where(SettingRow.key == hall.KEY_OF_FORMS))
        assert hall.make_secret_key(db) != made, "another hall has another one"
    assert len(bytes.fromhex(made)) == 32
