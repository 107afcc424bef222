"""Where the hall's secret lies: in the database, or in a file, of which the database keeps a mark alone."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from drillhall.acts.settle_secret import settle_secret
from drillhall.errors import Conflict, Invalid, Unavailable
from drillhall.people import accounts, erasing, hall, secret
from drillhall.store.models.people import SettingRow
from drillhall.store.session import Store
from tests.cast import LEARNER
from tests.visits import MORNING

GIVEN = "kD3vQ8mXr0TfYw5uNz1bLh6jPc9gSa2eWo7iKt4xRlE"
OTHER = GIVEN[::-1]


def settings_of(store: Store) -> dict[str, object]:
    with store.look() as db:
        return {row.key: row.value for row in db.scalars(select(SettingRow))}


def sealed(store: Store) -> str:
    """Return what the doors below take for the hall's secret."""
    with store.look() as db:
        return hall.the_secret_key(db)


def test_a_secret_from_a_file_is_the_halls_and_the_database_keeps_its_mark_alone(store: Store) -> None:
    assert settle_secret(store, GIVEN) == GIVEN == sealed(store)
    assert settings_of(store) == {"secret_mark": secret.mark_of(GIVEN)}
    assert GIVEN not in str(settings_of(store))
    assert settle_secret(store, GIVEN) == GIVEN, "again, and nothing is written"
    with store.look() as db:
        assert hall.is_set_up(db)


def test_one_that_lay_in_the_database_moves_when_the_file_holds_the_same(sqlite_store: Store) -> None:
    made = settle_secret(sqlite_store)
    assert settings_of(sqlite_store) == {"secret_key": made}
    assert settle_secret(sqlite_store, made) == made
    assert settings_of(sqlite_store).pop("secret_mark") == secret.mark_of(made)
    assert made not in str(settings_of(sqlite_store))
    with sqlite_store.look() as db:
        assert erasing.noted_in_files(db), "its bytes are still to be written over"


def test_another_ones_file_is_refused_and_nothing_is_changed(sqlite_store: Store) -> None:
    made = settle_secret(sqlite_store)
    with pytest.raises(Invalid, match="holds another one") as caught:
        settle_secret(sqlite_store, GIVEN)
    assert caught.value.field == "DRILLHALL_SECRET_FILE"
    assert settings_of(sqlite_store) == {"secret_key": made}
    settle_secret(sqlite_store, made)
    with pytest.raises(Invalid, match="does not hold this hall's secret"):
        settle_secret(sqlite_store, OTHER)
    assert sealed(sqlite_store) == made


def test_without_its_file_a_hall_makes_no_other_secret_and_derives_nothing(sqlite_store: Store) -> None:
    settle_secret(sqlite_store, GIVEN)
    bare = Store(sqlite_store.url)
    try:
        with pytest.raises(Invalid, match="lies in a file that the program was not told of"):
            settle_secret(bare)
        with bare.work() as db, pytest.raises(Invalid, match="Name it in DRILLHALL_SECRET_FILE"):
            hall.make_secret_key(db)
        with bare.look() as db, pytest.raises(Unavailable):
            hall.the_secret_key(db)
        assert list(settings_of(bare)) == ["secret_mark"]
    finally:
        bare.close()


def test_a_secret_in_a_file_is_taken_out_of_no_database(sqlite_store: Store) -> None:
    settle_secret(sqlite_store, GIVEN)
    with sqlite_store.work() as db, pytest.raises(Conflict, match="in a file already"):
        secret.take_out(db)


def test_another_takes_its_place_from_a_file_or_anew(sqlite_store: Store) -> None:
    made = settle_secret(sqlite_store)
    with sqlite_store.work() as db:
        who = accounts.make_account(db, name=LEARNER.name, passphrase=LEARNER.passphrase, at=MORNING)
        token = accounts.sign_in(db, accounts.Recognised(who.id), at=MORNING, stay=True)
        assert accounts.whoami(db, token, at=MORNING) is not None
        secret.renew(db, GIVEN)
        assert accounts.whoami(db, token, at=MORNING) is None, "whoever has stolen it has it no more"
    assert settle_secret(sqlite_store, GIVEN) == GIVEN
    with sqlite_store.work() as db, pytest.raises(Conflict, match="Write another one"):
        secret.renew(db, GIVEN)
    bare = Store(sqlite_store.url)
    with bare.work() as db:
        secret.renew(db, "")
    assert settle_secret(bare) not in {made, GIVEN}
    assert list(settings_of(bare)) == ["secret_key"]
    bare.close()
