"""What ends when the hall's secret becomes another one: what was signed or derived by it, and nothing else."""

from __future__ import annotations

import pytest
from sqlalchemy import update

from drillhall.errors import NotFound
from drillhall.people import groups, invitations
from drillhall.people.invitations import Code
from drillhall.store.models.people import SettingRow
from tests.cast import KEEPER, LEARNER
from tests.visits import Hall, Visitor, open_hall, signs_in
from tests.web.second_step.test_door import Phone, set_up


def moved(visitor: Visitor, hall: Hall) -> Visitor:
    """Return the same browser, with all of its cookies, before the hall as it is opened now."""
    again = hall.visitor()
    for cookie in visitor.client._cookies.values():
        again.client._cookies[cookie._storage_key] = cookie
    return again


def gives_code(hall: Hall, phone: Phone) -> Visitor:
    """Sign in at a new device by passphrase and what the phone shows now, and return it."""
    device, code = hall.visitor(), phone.code()
    hall.clock.at = phone.hall.clock()
    assert signs_in(device) == 303
    device.post("/sign-in/code", {"code": code})
    return device


def test_another_secret_ends_sign_ins_codes_and_second_steps_and_spare_codes_lead_in(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    phone, spare = set_up(hall, visitor)
    keeper = hall.add(KEEPER)
    with hall.store.work() as db:
        group = groups.make_group(db, by=keeper, title="Club", kind="club", is_paid=False, public_id="g", at=hall.clock())
        made = invitations.invite_to_group(db, group, by=keeper, at=hall.clock(), places=5, days=7, note="", with_code=True)
    same, now = open_hall(hall.store, hall.folder), hall.clock()
    assert moved(visitor, same).is_in(), "opening it again ends nothing"
    assert gives_code(same, phone).is_in()
    with hall.store.work() as db:
        assert invitations.the_invitation(db, Code(made.code), at=now)
        db.execute(update(SettingRow).where(SettingRow.key == "secret_key").values(value="another"))
    other = open_hall(hall.store, hall.folder)
    other.clock.at = now
    assert not moved(visitor, other).is_in()
    with hall.store.work() as db, pytest.raises(NotFound):
        invitations.the_invitation(db, Code(made.code), at=now)
    with hall.store.look() as db:
        assert invitations.the_invitation(db, made.token, at=now), "a link is random, and owes the secret nothing"
    device = gives_code(other, phone)
    assert not device.is_in()
    assert device.post("/sign-in/code", {"code": spare[0]}).status_code == 303
    assert device.is_in()
