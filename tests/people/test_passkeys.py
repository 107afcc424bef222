"""Passkeys on both engines: made and shown as the standard has it, and every way in which one is not shown as was asked."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from drillhall.errors import Invalid, NotFound
from drillhall.people import accounts, ceremonies, groups, passkeys, second_step
from drillhall.people.ceremonies import Site
from drillhall.people.person import Person
from drillhall.people.second_step import draw_spare
from drillhall.store.models.people import PasskeyRow, SpareCodeRow
from drillhall.store.session import Store
from tests.authenticator import AT as WITH_KEY
from tests.authenticator import UP, UV, Authenticator
from tests.cast import LEARNER, STRANGER, Someone

AT = datetime(2031, 3, 3, 9, tzinfo=UTC)
SITE = Site("localhost", "http://localhost")


def _add(store: Store, someone: Someone = LEARNER) -> Person:
    with store.work() as db:
        made = accounts.make_account(db, name=someone.name, passphrase=someone.passphrase, at=AT)
        return accounts.whoami(db, accounts.sign_in(db, accounts.Recognised(made.id), at=AT), at=AT) or made


def _make(store: Store, person: Person, device: Authenticator, name: str = "telephone", **bent: Any) -> None:
    with store.work() as db:
        asked, options = passkeys.ask_to_make(db, person, SITE, at=AT)
        passkeys.add(db, person, SITE, asked, device.make(options, **bent), name=name, spare=draw_spare()[:1], at=AT)


def _show(store: Store, device: Authenticator, *, whom: int, at: datetime = AT, **bent: Any) -> second_step.Shown:
    with store.look() as db:
        asked, options = passkeys.ask_to_show(db, whom, SITE, at=AT)
        return passkeys.recognise(db, SITE, asked, device.show(options, **bent), whom=whom, at=at)


def _use(store: Store, shown: second_step.Shown) -> None:
    with store.work() as db:
        second_step.use_shown(db, shown, at=AT)


def test_one_is_made_and_shown_for_somebody_and_for_whoever_it_names(store: Store) -> None:
    person, device = _add(store), Authenticator()
    _make(store, person, device)
    with store.look() as db:
        assert second_step.is_on(db, person.id)
        row = db.scalars(select(PasskeyRow)).one()
        assert (row.name, row.sign_count, row.transports, row.used_at) == ("telephone", 0, ["internal"], None)
        _, options = passkeys.ask_to_make(db, person, SITE, at=AT)
    assert [one["id"] for one in options["excludeCredentials"]] == [row.credential_id]
    assert (options["user"]["id"], options["attestation"]) == (row.user_handle, "none")
    assert len(row.user_handle) == 64
    for whom in (person.id, 0):
        shown = _show(store, device, whom=whom)
        assert shown.account_id == person.id
        _use(store, shown)
    with store.look() as db:
        assert (db.get_one(PasskeyRow, row.id).sign_count, db.get_one(PasskeyRow, row.id).used_at) == (2, AT)


def test_an_answer_counts_once_even_of_a_device_that_does_not_count(store: Store) -> None:
    person, device = _add(store), Authenticator(step=0)
    _make(store, person, device)
    shown = _show(store, device, whom=0)
    _use(store, shown)
    with pytest.raises(Invalid):
        _use(store, shown)
    _use(store, _show(store, device, whom=0))


def test_a_count_that_stands_still_or_goes_back_is_told_as_a_copy(store: Store) -> None:
    person, device = _add(store), Authenticator()
    _make(store, person, device)
    twice = [_show(store, device, whom=person.id, count=7) for _ in range(2)]
    _use(store, twice[0])
    with pytest.raises(Invalid):  # of two with one count who were looked at together
        _use(store, twice[1])
    for count in (7, 6, 0):
        with pytest.raises(passkeys.Refused) as refused:
            _show(store, device, whom=person.id, count=count)
        assert refused.value.is_copied
    with pytest.raises(passkeys.Refused) as forged:  # a count alone proves nothing
        _show(store, device, whom=person.id, count=0, origin="https://elsewhere.example")
    assert not forged.value.is_copied


LIES: dict[str, dict[str, Any]] = {
    "another origin": {"origin": "https://localhost"},
    "another host": {"host": "elsewhere.example"},
    "another challenge": {"challenge": "AAAA"},
    "within another page": {"framed": True},
    "nobody there": {"flags": UV},
    "who it is not asked": {"flags": UP},
}


@pytest.mark.parametrize("lie", LIES)
def test_what_is_not_as_it_was_asked_opens_nothing_and_is_not_kept(sqlite_store: Store, lie: str) -> None:
    person, device = _add(sqlite_store), Authenticator()
    bent = LIES[lie]
    with pytest.raises(Invalid, match="not made as the hall asked"):
        _make(sqlite_store, person, device, **bent | ({"flags": bent["flags"] | WITH_KEY} if "flags" in bent else {}))
    with sqlite_store.look() as db:
        assert not second_step.is_on(db, person.id)
    _make(sqlite_store, person, device)
    for whom in (person.id, 0):
        with pytest.raises(passkeys.Refused):
            _show(sqlite_store, device, whom=whom, **bent)


def test_what_was_made_is_not_shown_and_what_was_asked_of_one_is_not_answered_by_another(sqlite_store: Store) -> None:
    person, other, device, others = _add(sqlite_store), _add(sqlite_store, STRANGER), Authenticator(), Authenticator()
    _make(sqlite_store, person, device)
    _make(sqlite_store, other, others)
    for bent in ({"kind": "webauthn.create"}, {"handle": others.keys[0].handle}, {"handle": b"x" * 48}):
        with pytest.raises(passkeys.Refused):
            _show(sqlite_store, device, whom=person.id, **bent)
    with pytest.raises(passkeys.Refused):  # hers, where a stranger is half-way in
        _show(sqlite_store, device, whom=other.id)
    with pytest.raises(passkeys.Refused):  # without a handle it says of nobody whose it is
        _show(sqlite_store, device, whom=0, handle=b"")
    _show(sqlite_store, device, whom=person.id, handle=b"")
    others.keys[0].id = device.keys[0].id
    with pytest.raises(passkeys.Refused):  # her number, another's key
        _show(sqlite_store, others, whom=person.id, handle=device.keys[0].handle)
    with sqlite_store.look() as db:
        asked, options = passkeys.ask_to_show(db, person.id, SITE, at=AT)
        for whom in (0, other.id):
            with pytest.raises(Invalid):
                passkeys.recognise(db, SITE, asked, device.show(options), whom=whom, at=AT)


def test_it_is_asked_for_five_minutes(sqlite_store: Store) -> None:
    person, device = _add(sqlite_store), Authenticator()
    _make(sqlite_store, person, device)
    _show(sqlite_store, device, whom=0, at=AT + timedelta(minutes=4, seconds=59))
    for later in (timedelta(minutes=5), timedelta(days=2), timedelta(seconds=-1)):
        with pytest.raises(Invalid):
            _show(sqlite_store, device, whom=0, at=AT + later)


def test_a_format_that_was_not_asked_for_and_the_same_passkey_again_are_not_kept(sqlite_store: Store) -> None:
    person, device = _add(sqlite_store), Authenticator()
    for bent in ({"format": "tpm"}, {"format": "fido-u2f"}, {"format": "packed"}):
        with pytest.raises(Invalid):
            _make(sqlite_store, person, device, **bent)
    with sqlite_store.work() as db:
        asked, options = passkeys.ask_to_make(db, person, SITE, at=AT)
        said = device.make(options)
        passkeys.add(db, person, SITE, asked, said, name="one", spare=(), at=AT)
        with pytest.raises(Invalid):
            passkeys.add(db, person, SITE, asked, said, name="two", spare=(), at=AT)
        for name in ("", "   ", "n" * 61):
            with pytest.raises(Invalid, match="60 letters"):
                passkeys.clean_name(name)


def test_the_last_one_goes_where_the_passphrase_does_alone(sqlite_store: Store) -> None:
    person, device = _add(sqlite_store), Authenticator()
    for name in ("telephone", "laptop"):
        _make(sqlite_store, person, device, name)
    with sqlite_store.work() as db:
        groups.make_group(db, by=person, title="Club", kind="club", is_paid=False, public_id="0", at=AT)
        first, second = (one.id for one in passkeys.list_passkeys(db, person.id))
        passkeys.take_off(db, _show(sqlite_store, device, whom=person.id), first, passphrase="mud at ebb", at=AT)
        assert second_step.is_on(db, person.id)
    gone = Authenticator(keys=device.keys[:1])
    with pytest.raises(passkeys.Refused):
        _show(sqlite_store, gone, whom=0)
    for number, wrong, why in ((first, LEARNER.passphrase, NotFound), (second, "mud at ebb", Invalid)):
        with pytest.raises(why), sqlite_store.work() as db:
            passkeys.take_off(db, _show(sqlite_store, device, whom=person.id), number, passphrase=wrong, at=AT)
    with sqlite_store.work() as db:
        passkeys.take_off(db, _show(sqlite_store, device, whom=person.id), second, passphrase=LEARNER.passphrase, at=AT)
        assert not second_step.is_on(db, person.id)
        assert db.scalar(select(SpareCodeRow.id)) is None


def test_the_keeper_takes_them_off_and_a_closed_account_is_not_entered(sqlite_store: Store) -> None:
    person, keeper, device = _add(sqlite_store), _add(sqlite_store, STRANGER), Authenticator()
    _make(sqlite_store, person, device)
    with sqlite_store.work() as db:
        accounts.retire_account(db, person.id, by=keeper, at=AT)
    for whom in (person.id, 0):
        with pytest.raises(passkeys.Refused):
            _show(sqlite_store, device, whom=whom)
    _make(sqlite_store, keeper, device)
    with sqlite_store.work() as db:
        second_step.take_off(db, STRANGER.name, at=AT, by=None)
        assert passkeys.list_passkeys(db, keeper.id) == ()
    with pytest.raises(passkeys.Refused):
        _show(sqlite_store, device, whom=0)


_ANY = st.recursive(st.none() | st.integers() | st.text(max_size=9), lambda inner: st.lists(inner, max_size=2), max_leaves=3)
_MADE = ("id", "rawId", "clientDataJSON", "attestationObject")
_SHOWN = ("rawId", "clientDataJSON", "authenticatorData", "signature")


def _bent(said: str, part: str, value: Any) -> str:
    told = json.loads(said)
    (told if part in told else told["response"])[part] = value
    return json.dumps(told)


@settings(max_examples=40)
@given(made=st.sampled_from(_MADE), shown=st.sampled_from(_SHOWN), value=_ANY, cut=st.integers(1, 60))
def test_whatever_a_stranger_sends_is_refused_in_words(made: str, shown: str, value: Any, cut: int) -> None:
    device = Authenticator()
    making = device.make(ceremonies.ask_to_make(SITE, challenge="AAAA", user_handle="BBBB", name="Oda", known=()))
    key = ceremonies.check_made(SITE, making, challenge="AAAA").public_key
    showing = device.show(ceremonies.ask_to_show(SITE, challenge="AAAA", known=()))
    assert ceremonies.check_shown(SITE, showing, challenge="AAAA", public_key=key) == 1
    whole = json.loads(making)["response"]["attestationObject"]
    for said in (json.dumps(value), making[:cut], _bent(making, made, value), _bent(making, "attestationObject", whole[:-cut])):
        with pytest.raises(Invalid):
            ceremonies.check_made(SITE, said, challenge="AAAA")
    for said in (json.dumps(value), showing[:cut], _bent(showing, shown, value)):
        with pytest.raises(Invalid):
            ceremonies.check_shown(SITE, said, challenge="AAAA", public_key=key)
    for said in (json.dumps(value), showing[:cut], _bent(showing, "rawId", value) if not isinstance(value, str) else "{}"):
        with pytest.raises(Invalid):
            ceremonies.read_named(said)
