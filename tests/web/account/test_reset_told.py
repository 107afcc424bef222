"""Whose passphrase was reset at the terminal is told so when she signs in, until she has taken one of her own."""

from __future__ import annotations

from drillhall.people import accounts, resets
from tests.cast import LEARNER, STRANGER
from tests.visits import Hall, signs_in

FRESH, OWN = "sand between all my toes", "an umbrella for the wet goat"


def reset(hall: Hall) -> int:
    """Reset the learner's passphrase as the command does, and return her account."""
    with hall.store.work() as db:
        accounts.reset_passphrase(db, name=LEARNER.name, passphrase=FRESH, at=hall.clock(), by=None)
        return accounts.the_person_called(db, LEARNER.name).id


def test_a_reset_is_told_at_each_sign_in_until_the_passphrase_is_her_own(hall: Hall) -> None:
    hall.add(LEARNER)
    hall.add(STRANGER)
    account_id = reset(hall)
    hall.clock.move(days=1)
    for _ in range(2):
        device = hall.visitor()
        answer = device.post("/sign-in", {"name": LEARNER.name, "passphrase": FRESH, "next": "/groups"})
        assert answer.location == "/passphrase?reset=yes"
        told = device.get(answer.location).text
        assert "Your passphrase was reset on " in told
        assert "If you did not ask for it, ask why" in told
    assert device.post("/passphrase", {"old": FRESH, "new": OWN}).status_code == 303
    assert "was reset" not in device.get("/passphrase").text
    with hall.store.look() as db:
        assert resets.find_reset(db, account_id) is None
    fresh = hall.visitor()
    assert fresh.post("/sign-in", {"name": LEARNER.name, "passphrase": OWN, "next": "/groups"}).location == "/groups"


def test_nobody_else_is_told_and_a_later_reset_is_told_anew(hall: Hall) -> None:
    hall.add(LEARNER)
    hall.add(STRANGER)
    reset(hall)
    other = hall.visitor()
    assert signs_in(other, STRANGER.name, STRANGER.passphrase) == 303
    assert "was reset" not in other.get("/passphrase").text
    device = hall.visitor()
    assert signs_in(device, LEARNER.name, FRESH) == 303
    hall.clock.move(minutes=1)
    assert device.post("/passphrase", {"old": FRESH, "new": OWN}).status_code == 303
    hall.clock.move(minutes=1)
    account_id = reset(hall)
    with hall.store.look() as db:
        assert resets.find_reset(db, account_id) == hall.clock()
        assert resets.find_reset(db, account_id + 1) is None
