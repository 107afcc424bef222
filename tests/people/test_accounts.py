"""Accounts, sign-ins and devices, on both engines."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from argon2 import PasswordHasher
from sqlalchemy import select

from drillhall.errors import Conflict, Invalid, NameTaken, NotAllowed, NotFound
from drillhall.people import accounts, hall, links, sign_ins
from drillhall.people.accounts import Recognised
from drillhall.people.person import Person, Preferences
from drillhall.store.models.people import AccountRow, AuditRow, OneTimeLinkRow, SignInRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEARNER, STRANGER, Someone

AT = datetime(2031, 3, 3, 9, tzinfo=UTC)


def _add(store: Store, someone: Someone, *, is_keeper: bool = False) -> Person:
    with store.work() as db:
        return accounts.make_account(db, name=someone.name, passphrase=someone.passphrase, at=AT, is_keeper=is_keeper)


def _sign_in(store: Store, person: Person, *, stay: bool = False, at: datetime = AT) -> str:
    with store.work() as db:
        return accounts.sign_in(db, Recognised(person.id), stay=stay, at=at)


def _who(store: Store, token: str, at: datetime = AT) -> Person | None:
    with store.look() as db:
        return accounts.whoami(db, token, at=at)


def _acts(store: Store) -> list[str]:
    with store.look() as db:
        return list(db.scalars(select(AuditRow.act).order_by(AuditRow.id)))


def test_an_account_signs_in_by_any_spelling_of_its_name(store: Store) -> None:
    person = _add(store, LEARNER)
    with store.look() as db:
        assert accounts.recognise(db, name=f" {LEARNER.name.upper()} ", passphrase=LEARNER.passphrase).account_id == person.id


@pytest.mark.parametrize(
    ("name", "passphrase"),
    [
        (LEARNER.name, STRANGER.passphrase),
        (LEARNER.name, LEARNER.passphrase.upper()),
        (LEARNER.name, LEARNER.passphrase + " "),
        (LEARNER.name, ""),
        (STRANGER.name, LEARNER.passphrase),
        ("", ""),
        ("\x00" * 30, "\ud800"),
    ],
)
def test_a_wrong_name_and_a_wrong_passphrase_are_told_alike(sqlite_store: Store, name: str, passphrase: str) -> None:
    _add(sqlite_store, LEARNER)
    with sqlite_store.look() as db, pytest.raises(Invalid) as caught:
        accounts.recognise(db, name=name, passphrase=passphrase)
    assert caught.value.sentence == accounts.NOT_KNOWN


def test_only_the_hash_of_a_passphrase_and_of_a_token_is_stored(store: Store) -> None:
    token = _sign_in(store, _add(store, LEARNER))
    with store.look() as db:
        stored = repr([db.execute(select(*row.__table__.columns)).all() for row in (AccountRow, SignInRow, AuditRow)])
    assert "argon2id" in stored
    assert token not in stored
    assert LEARNER.passphrase not in stored


def test_a_name_is_taken_in_every_spelling(store: Store) -> None:
    _add(store, LEARNER)
    with pytest.raises(NameTaken, match="called ODA QUERFURTH already"), store.work() as db:
        accounts.make_account(db, name="ODA QUERFURTH", passphrase=STRANGER.passphrase, at=AT)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"zone": "Moon/Tranquility"}, "zone"),
        ({"zone": "../../etc/passwd"}, "zone"),
        ({"zone": "localtime"}, "zone"),
        ({"minutes_a_day": 0}, "minutes_a_day"),
        ({"minutes_a_day": 121}, "minutes_a_day"),
        ({"target_recall": 0.99}, "target_recall"),
        ({"target_recall": float("nan")}, "target_recall"),
        ({"new_a_day": -1}, "new_a_day"),
        ({"new_a_day": 11}, "new_a_day"),
        ({"round_length": 1}, "round_length"),
        ({"colour_vision": "perfect"}, "colour_vision"),
    ],
)
def test_a_wish_that_cannot_be_is_refused_by_name_and_nothing_is_kept(sqlite_store: Store, change: dict[str, object], field: str) -> None:
    person = _add(sqlite_store, LEARNER)
    wishes = replace(Preferences(minutes_a_day=25), **change)  # type: ignore[arg-type]
    with pytest.raises(Invalid) as caught, sqlite_store.work() as db:
        accounts.set_preferences(db, person, wishes, at=AT)
    assert caught.value.field == field
    with sqlite_store.look() as db:
        assert accounts.the_person_of(db, person.id).preferences == Preferences()


def test_wishes_are_kept(store: Store) -> None:
    person = _add(store, LEARNER)
    wishes = Preferences("Asia/Kathmandu", "en", 25, 0.85, 0, 4, "red-green", single_keys=True)
    with store.work() as db:
        accounts.set_preferences(db, person, wishes, at=AT)
    with store.look() as db:
        assert accounts.the_person_of(db, person.id).preferences == wishes


def test_a_sign_in_ends_when_idle_and_at_the_latest_after_its_span(store: Store) -> None:
    token = _sign_in(store, _add(store, LEARNER))
    assert _who(store, token, AT + sign_ins.IDLE - timedelta(seconds=1))
    assert _who(store, token, AT + sign_ins.IDLE) is None
    at = AT
    while at < AT + sign_ins.LONGEST - timedelta(hours=6):
        at += timedelta(hours=6)
        person = _who(store, token, at)
        assert person
        with store.work() as db:
            sign_ins.note_use(db, person, at=at)
    assert _who(store, token, AT + sign_ins.LONGEST) is None


@pytest.mark.parametrize(("is_keeper", "longest"), [(False, sign_ins.LONGEST_STAYING), (True, sign_ins.LONGEST_KEEPER)])
def test_one_who_stays_stays_longer_a_keeper_less_long(sqlite_store: Store, is_keeper: bool, longest: timedelta) -> None:
    token = _sign_in(sqlite_store, _add(sqlite_store, KEEPER, is_keeper=is_keeper), stay=True)
    assert _who(sqlite_store, token, AT + timedelta(days=29))
    with sqlite_store.work() as db:
        row = db.scalars(select(SignInRow)).one()
        assert row.until == AT + longest
        row.seen_at = AT + longest - timedelta(days=1)
    assert _who(sqlite_store, token, AT + longest - timedelta(seconds=1))
    assert _who(sqlite_store, token, AT + longest) is None


@pytest.mark.parametrize("token", ["", "x", "\x00", "ä" * 50, "\udcff"])
def test_an_unknown_token_is_nobody(sqlite_store: Store, token: str) -> None:
    _sign_in(sqlite_store, _add(sqlite_store, LEARNER))
    assert _who(sqlite_store, token) is None


def test_signing_in_anew_on_a_device_ends_its_old_token(store: Store) -> None:
    person = _add(store, LEARNER)
    old = _sign_in(store, person)
    with store.work() as db:
        new = accounts.sign_in(db, Recognised(person.id), at=AT, instead_of=old)
    assert new != old
    assert _who(store, old) is None
    assert _who(store, new)


def test_an_outdated_hash_is_renewed_at_sign_in(store: Store) -> None:
    person = _add(store, LEARNER)
    old = PasswordHasher(time_cost=2, memory_cost=16, parallelism=1).hash(LEARNER.passphrase)
    with store.work() as db:
        db.scalars(select(AccountRow)).one().passphrase_hash = old
    with store.look() as db:
        who = accounts.recognise(db, name=LEARNER.name, passphrase=LEARNER.passphrase)
    with store.work() as db:
        accounts.sign_in(db, who, at=AT)
    with store.look() as db:
        assert db.scalars(select(AccountRow.passphrase_hash)).one() not in {"", old}
        assert accounts.recognise(db, name=LEARNER.name, passphrase=LEARNER.passphrase) == Recognised(person.id)


def test_changing_the_passphrase_signs_out_every_other_device(store: Store) -> None:
    person = _add(store, LEARNER)
    here, there = _sign_in(store, person), _sign_in(store, person)
    me = _who(store, here)
    assert me
    with store.work() as db:
        accounts.change_passphrase(db, me, old=LEARNER.passphrase, new="a kettle sings on the quay", at=AT)
    assert _who(store, here)
    assert _who(store, there) is None
    with store.look() as db, pytest.raises(Invalid):
        accounts.recognise(db, name=LEARNER.name, passphrase=LEARNER.passphrase)
    assert _acts(store)[-1] == "passphrase changed"


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("not mine at all", "a kettle sings on the quay", "old"),
        (LEARNER.passphrase, "short", "new"),
        (LEARNER.passphrase, "password2031", "new"),
        (LEARNER.passphrase, LEARNER.passphrase, "new"),
    ],
)
def test_a_passphrase_changes_only_with_the_old_one_and_to_a_good_one(sqlite_store: Store, old: str, new: str, field: str) -> None:
    person = _add(sqlite_store, LEARNER)
    token = _sign_in(sqlite_store, person)
    with pytest.raises(Invalid) as caught, sqlite_store.work() as db:
        accounts.change_passphrase(db, person, old=old, new=new, at=AT)
    assert caught.value.field == field
    assert _who(sqlite_store, token)


def test_a_reset_ends_all_devices_and_is_in_the_log(store: Store) -> None:
    person = _add(store, LEARNER)
    token = _sign_in(store, person)
    with store.work() as db:
        accounts.reset_passphrase(db, name=LEARNER.name.lower(), passphrase="a kettle sings on the quay", at=AT, by=None)
    assert _who(store, token) is None
    assert _acts(store)[-1] == "passphrase reset"


def test_nobody_can_be_reset(sqlite_store: Store) -> None:
    with pytest.raises(NotFound, match=f"Nobody here is called {STRANGER.name}"), sqlite_store.work() as db:
        accounts.reset_passphrase(db, name=STRANGER.name, passphrase="a kettle sings on the quay", at=AT, by=None)


def test_a_closed_account_is_out_at_once_and_cannot_come_back(store: Store) -> None:
    keeper, person = _add(store, KEEPER, is_keeper=True), _add(store, LEARNER)
    token = _sign_in(store, person)
    with store.work() as db:
        accounts.retire_account(db, person.id, by=keeper, at=AT)
    assert _who(store, token) is None
    with store.look() as db:
        assert db.scalars(select(SignInRow)).all() == [], "not only shut out while it is closed"
        with pytest.raises(Invalid):
            accounts.recognise(db, name=LEARNER.name, passphrase=LEARNER.passphrase)
        assert [(one.name, one.retired_at) for one in accounts.list_accounts(db)] == [(KEEPER.name, None), (LEARNER.name, AT)]
    with pytest.raises(Conflict, match="closed already"), store.work() as db:
        accounts.retire_account(db, person.id, by=keeper, at=AT)


def test_a_keeper_cannot_close_her_own_account_nor_one_that_is_not_there(sqlite_store: Store) -> None:
    keeper = _add(sqlite_store, KEEPER, is_keeper=True)
    with pytest.raises(NotAllowed), sqlite_store.work() as db:
        accounts.retire_account(db, keeper.id, by=keeper, at=AT)
    with pytest.raises(NotFound), sqlite_store.work() as db:
        accounts.retire_account(db, 999, by=keeper, at=AT)


def test_the_first_run_makes_a_keeper_once(store: Store) -> None:
    with store.work() as db:
        token = links.make_link(db, links.FIRST_RUN, until=AT + timedelta(hours=24))
        assert not hall.has_keeper(db)
    with store.work() as db:
        keeper = accounts.make_keeper(db, token, name=KEEPER.name, passphrase=KEEPER.passphrase, at=AT)
    assert keeper.is_keeper
    with pytest.raises(NotFound, match="has a keeper already"), store.work() as db:
        accounts.make_keeper(db, token, name="Another", passphrase=STRANGER.passphrase, at=AT)


@pytest.mark.parametrize("fault", ["weak", "late", "wrong"])
def test_a_first_run_that_fails_leaves_its_link_and_no_keeper(sqlite_store: Store, fault: str) -> None:
    with sqlite_store.work() as db:
        token = links.make_link(db, links.FIRST_RUN, until=AT + timedelta(hours=24))
    with pytest.raises((Invalid, NotFound)), sqlite_store.work() as db:
        accounts.make_keeper(
            db,
            token + "x" * (fault == "wrong"),
            name=KEEPER.name,
            passphrase="only twelve." if fault == "weak" else KEEPER.passphrase,
            at=AT + timedelta(hours=24 if fault == "late" else 1),
        )
    with sqlite_store.look() as db:
        assert not hall.has_keeper(db)
        assert db.scalars(select(OneTimeLinkRow.used_at)).one() is None


def test_a_step_in_link_works_once_and_for_its_purpose_alone(store: Store) -> None:
    person = _add(store, LEARNER)
    with store.work() as db:
        token = links.make_link(db, links.STEP_IN, until=AT + timedelta(hours=1), account_id=person.id)
    with pytest.raises(NotFound), store.work() as db:
        links.use_link(db, links.FIRST_RUN, token, at=AT)
    with store.work() as db:
        entered = accounts.step_in(db, token, at=AT)
    assert _acts(store)[-1] == "signed in by a link"
    stepped = _who(store, entered)
    assert stepped
    assert stepped.id == person.id
    with pytest.raises(NotFound, match="does not work, or no longer"), store.work() as db:
        accounts.step_in(db, token, at=AT)


def test_a_new_link_ends_the_one_before(store: Store) -> None:
    person = _add(store, LEARNER)
    with store.work() as db:
        old = links.make_link(db, links.STEP_IN, until=AT + timedelta(hours=1), account_id=person.id)
        links.make_link(db, links.FIRST_RUN, until=AT + timedelta(hours=1))
        links.make_link(db, links.STEP_IN, until=AT + timedelta(hours=1), account_id=person.id)
    with pytest.raises(NotFound), store.work() as db:
        accounts.step_in(db, old, at=AT)


def test_devices_are_told_apart_and_ended_by_their_owner_alone(store: Store) -> None:
    person, stranger = _add(store, LEARNER), _add(store, STRANGER)
    here, there = _sign_in(store, person), _sign_in(store, person, stay=True, at=AT - timedelta(hours=1))
    me = _who(store, here)
    assert me
    with store.look() as db:
        devices = sign_ins.list_devices(db, person.id, this=me.sign_in_id, at=AT)
        assert [(one.is_this, one.stays) for one in devices] == [(True, False), (False, True)]
        assert sign_ins.list_devices(db, stranger.id, this=0, at=AT) == ()
    with pytest.raises(NotFound), store.work() as db:
        sign_ins.end_sign_in(db, stranger.id, devices[1].id)
    with store.work() as db:
        sign_ins.end_sign_in(db, person.id, devices[1].id)
    assert _who(store, there) is None
    assert _who(store, here)


def test_signing_out_twice_is_no_fault(store: Store) -> None:
    token = _sign_in(store, _add(store, LEARNER))
    for _ in range(2):
        with store.work() as db:
            accounts.sign_out(db, token, at=AT)
    assert _acts(store) == ["account made", "signed in", "signed out"]
