"""The second step: set up by a first code, each code once, spare codes, and the ways out of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select

from drillhall.core.one_time import code_of, step_of
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.people import accounts, groups, hall, second_step, sign_ins
from drillhall.people.person import Person
from drillhall.store.models.people import AuditRow, SecondStepRow, SpareCodeRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEARNER, STRANGER, Someone

AT = datetime(2031, 3, 3, 9, tzinfo=UTC)
SHORT = "mud at ebb"


def _add(store: Store, someone: Someone = LEARNER, *, is_keeper: bool = False) -> Person:
    with store.work() as db:
        hall.make_secret_key(db)
        made = accounts.make_account(db, name=someone.name, passphrase=someone.passphrase, at=AT, is_keeper=is_keeper)
        token = accounts.sign_in(db, accounts.Recognised(made.id), at=AT)
        return accounts.whoami(db, token, at=AT) or made


def _set_up(store: Store, person: Person, *, at: datetime = AT) -> tuple[bytes, tuple[second_step.Spare, ...]]:
    spare = second_step.draw_spare()
    with store.work() as db:
        second_step.make_secret(db, person, at=at)
        secret = second_step.the_new_secret(db, person)
        second_step.confirm(db, person, code_of(secret, step_of(at)), spare, at=at)
    return secret, spare


def _use(store: Store, person: Person, typed: str, *, at: datetime) -> None:
    with store.work() as db:
        second_step.use_shown(db, second_step.recognise_code(db, person.id, typed, at=at), at=at)


def test_it_is_on_from_a_first_code_and_other_devices_are_out(store: Store) -> None:
    person = _add(store)
    with store.work() as db:
        other = accounts.sign_in(db, accounts.Recognised(person.id), at=AT)
        second_step.make_secret(db, person, at=AT)
        assert not second_step.is_on(db, person.id)
        with pytest.raises(Invalid, match="does not fit"):
            second_step.confirm(db, person, "000000", second_step.draw_spare(), at=AT)
    _set_up(store, person)
    with store.look() as db:
        assert second_step.is_on(db, person.id)
        assert accounts.whoami(db, other, at=AT) is None
        assert [one.id for one in sign_ins.list_devices(db, person.id, this=0, at=AT)] == [person.sign_in_id]
        with pytest.raises(NotFound):
            second_step.the_new_secret(db, person)
    with store.work() as db, pytest.raises(Conflict):
        second_step.make_secret(db, person, at=AT)


def test_each_code_is_taken_once_even_of_two_who_show_it_at_once(store: Store) -> None:
    person = _add(store)
    secret, _ = _set_up(store, person)
    later = AT + timedelta(minutes=1)
    code = code_of(secret, step_of(later))
    with pytest.raises(Invalid):  # the one with which it was set up
        _use(store, person, code_of(secret, step_of(AT)), at=AT)
    with store.look() as db:
        first, second = (second_step.recognise_code(db, person.id, code, at=later) for _ in range(2))
    with store.work() as db:
        second_step.use_shown(db, first, at=later)
    with store.work() as db, pytest.raises(Invalid):
        second_step.use_shown(db, second, at=later)


def test_a_spare_code_is_good_once_however_it_is_typed_and_kept_as_a_hash(store: Store) -> None:
    person = _add(store)
    _, spare = _set_up(store, person)
    with store.look() as db:
        kept = [(row.handle, row.code_hash) for row in db.scalars(select(SpareCodeRow))]
    assert len({one.code for one in spare}) == len(kept) == second_step.SPARE_CODES
    assert all(one.code.replace("-", "") not in told and told.startswith("$argon2id$") for one in spare for _, told in kept)
    typed = spare[3].code.lower().replace("-", " ")
    with store.look() as db:
        twice = [second_step.recognise_code(db, person.id, typed, at=AT) for _ in range(2)]
    with store.work() as db:
        second_step.use_shown(db, twice[0], at=AT)
        assert second_step.the_state(db, person).spare_left == second_step.SPARE_CODES - 1
    with store.work() as db, pytest.raises(Invalid):
        second_step.use_shown(db, twice[1], at=AT)
    for wrong in (spare[3].code, spare[2].code[:-1] + ("2" if spare[2].code[-1] != "2" else "3"), "BCDF-BCDF-BCDF"):
        with pytest.raises(Invalid, match="next one on your list"):
            _use(store, person, wrong, at=AT)


def test_new_spare_codes_end_the_old_ones(sqlite_store: Store) -> None:
    person = _add(sqlite_store)
    _, old = _set_up(sqlite_store, person)
    fresh = second_step.draw_spare()
    with sqlite_store.work() as db:
        second_step.renew_spare(db, second_step.recognise_code(db, person.id, old[0].code, at=AT), fresh, at=AT)
    with pytest.raises(Invalid):
        _use(sqlite_store, person, old[1].code, at=AT)
    _use(sqlite_store, person, fresh[1].code, at=AT)


def test_anothers_code_does_not_fit_and_the_table_alone_gives_no_secret_away(sqlite_store: Store) -> None:
    person, other = _add(sqlite_store), _add(sqlite_store, STRANGER)
    secret, spare = _set_up(sqlite_store, person)
    _set_up(sqlite_store, other)
    later = AT + timedelta(minutes=5)
    for typed in (code_of(secret, step_of(later)), spare[0].code):
        with pytest.raises(Invalid):
            _use(sqlite_store, other, typed, at=later)
    with sqlite_store.look() as db:
        row = db.get_one(SecondStepRow, person.id)
        assert secret.hex() not in row.salt
        assert secret != second_step.secret_of(db, SecondStepRow(account_id=other.id, salt=row.salt))


def test_with_a_second_step_eight_signs_are_enough_for_whoever_leads(sqlite_store: Store) -> None:
    person = _add(sqlite_store)
    with sqlite_store.work() as db:
        assert second_step.least_signs(db, person) == 8
        groups.make_group(db, by=person, title="Club", kind="club", is_paid=False, public_id="0", at=AT)
        assert second_step.least_signs(db, person) == 15
    with sqlite_store.work() as db, pytest.raises(Invalid, match="at least 15"):
        accounts.change_passphrase(db, person, old=LEARNER.passphrase, new=SHORT, at=AT)
    _, spare = _set_up(sqlite_store, person)
    with sqlite_store.work() as db:
        accounts.change_passphrase(db, person, old=LEARNER.passphrase, new=SHORT, at=AT)
    with sqlite_store.work() as db, pytest.raises(Invalid, match="needs 15 signs") as refused:
        second_step.turn_off(db, second_step.recognise_code(db, person.id, spare[0].code, at=AT), passphrase=SHORT, at=AT)
    assert refused.value.field == "passphrase"
    with sqlite_store.work() as db:
        second_step.turn_off(db, second_step.recognise_code(db, person.id, spare[0].code, at=AT), passphrase=LEARNER.passphrase, at=AT)
        assert not second_step.is_on(db, person.id)
        assert db.scalar(select(SpareCodeRow.id)) is None


def test_whoever_keeps_the_machine_takes_it_off_which_is_in_the_log_and_told(sqlite_store: Store) -> None:
    keeper = _add(sqlite_store, KEEPER, is_keeper=True)
    _set_up(sqlite_store, keeper)
    with sqlite_store.work() as db:
        second_step.take_off(db, KEEPER.name.upper(), at=AT, by=None)
    with sqlite_store.look() as db:
        assert not second_step.is_on(db, keeper.id)
        assert second_step.the_state(db, keeper).taken_off_at == AT
        assert sign_ins.list_devices(db, keeper.id, this=0, at=AT) == ()
        assert (second_step.TAKEN_OFF, f"account {keeper.id}") in [tuple(row) for row in db.execute(select(AuditRow.act, AuditRow.subject))]
    for name, error in ((KEEPER.name, Conflict), ("Nobody", NotFound)):
        with sqlite_store.work() as db, pytest.raises(error):
            second_step.take_off(db, name, at=AT, by=None)
