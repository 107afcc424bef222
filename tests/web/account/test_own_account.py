"""One's own account: preferences, passphrase, devices."""

from __future__ import annotations

import re

import pytest
from sqlalchemy import func, select

from drillhall.people import sign_ins
from drillhall.people.limits import PASSPHRASE
from drillhall.store.models.concepts import ConceptRow, NameRow
from tests.cast import LEARNER, STRANGER
from tests.visits import WISHES, Hall, signs_in


def test_preferences_are_kept_and_shown(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    letters = re.compile(r'name="letter_keys"[^>]* checked')
    assert letters.search(visitor.get("/settings").text)
    answer = visitor.post("/settings", WISHES | {"single_keys": "yes", "colour_vision": "red-green", "round_length": "4"})
    assert answer.status_code == 303
    page = visitor.get(answer.location).text
    for shown in ('value="25"', 'value="85"', '<option value="Asia/Kathmandu" selected>', '<option value="red-green" selected>', "checked"):
        assert shown in page
    assert not letters.search(page), "letters that answer are turned off where their box is left empty"


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"minutes_a_day": "ten"}, "Minutes a day must be a whole number"),
        ({"minutes_a_day": "0"}, "from 1 to 120"),
        ({"target_recall": "99"}, "from 70 to 97"),
        ({"new_a_day": "-1"}, "from 0 to 10"),
        ({"round_length": "9"}, "from 2 to 6"),
        ({"zone": "Mars/Olympus"}, "no time zone"),
        ({"colour_vision": "<script>"}, "about colours"),
    ],
)
def test_a_wish_that_cannot_be_keeps_what_was_typed(hall: Hall, change: dict[str, str], why: str) -> None:
    visitor = hall.enter(LEARNER)
    answer = visitor.post("/settings", WISHES | {"minutes_a_day": "26"} | change)
    assert answer.status_code == 422
    assert why in answer.text
    assert f'value="{change.get("minutes_a_day", "26")}"' in answer.text
    assert "<script>" not in answer.text
    assert 'value="10"' in visitor.get("/settings").text


def test_changing_the_passphrase_leaves_this_device_alone_in(hall: Hall) -> None:
    here = hall.enter(LEARNER)
    there = hall.enter(LEARNER, known=True)
    answer = here.post("/passphrase", {"old": LEARNER.passphrase, "new": "a kettle sings on the quay"})
    assert (answer.status_code, answer.location) == (303, "/devices?changed=yes")
    assert here.is_in()
    assert not there.is_in()
    assert signs_in(hall.visitor()) == 422


@pytest.mark.parametrize(
    ("old", "new", "field"), [("a wrong one", "a kettle sings on the quay", "old"), (LEARNER.passphrase, "tiny", "new")]
)
def test_a_passphrase_that_is_refused_is_not_shown_again(hall: Hall, old: str, new: str, field: str) -> None:
    answer = hall.enter(LEARNER).post("/passphrase", {"old": old, "new": new})
    assert answer.status_code == 422
    assert f'id="{field}-mend"' in answer.text
    assert old not in answer.text
    assert f'value="{new}"' not in answer.text


def test_whoever_found_a_device_open_cannot_guess_its_passphrase_for_long(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    for _ in range(PASSPHRASE.most):
        assert visitor.post("/passphrase", {"old": "guess", "new": "a kettle sings on the quay"}).status_code == 422
    assert visitor.post("/passphrase", {"old": LEARNER.passphrase, "new": "a kettle sings on the quay"}).status_code == 429


def test_devices_are_ended_one_by_one_and_all_at_once(hall: Hall) -> None:
    here, there = hall.enter(LEARNER), hall.enter(LEARNER, known=True)
    page = here.get("/devices").text
    assert page.count("Sign it out") == 1
    action = page.split('action="/devices/')[1].split('"')[0]
    assert here.post(f"/devices/{action}").status_code == 303
    assert not there.is_in()
    third = hall.enter(LEARNER, known=True)
    assert here.post("/sign-out-everywhere").status_code == 303
    assert not here.is_in()
    assert not third.is_in()


def test_nobody_ends_anothers_device(hall: Hall) -> None:
    hers = hall.enter(LEARNER)
    with hall.store.look() as db:
        number = db.scalar(select(func.max(sign_ins.SignInRow.id)))
    assert hall.enter(STRANGER).post(f"/devices/{number}/end").status_code == 404
    assert hers.post(f"/devices/{number}/end").status_code == 403  # this one has a button of its own
    assert hers.is_in()


def test_a_list_of_names_is_chosen_among_those_that_the_hall_knows(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    refused = visitor.post("/settings", WISHES | {"list_name": "No list of this hall"})
    assert refused.status_code == 422
    assert "knows no name under that list" in refused.text
    with hall.store.work() as db:
        concept = ConceptRow(taxon_concept_id="any")
        db.add(concept)
        db.flush()
        db.add(NameRow(concept_id=concept.id, according_to="Estuary list 2031", scientific_name="Fictavis limosa"))
    assert visitor.post("/settings", WISHES | {"list_name": "Estuary list 2031"}).status_code == 303
    assert '<option value="Estuary list 2031" selected>' in visitor.get("/settings").text
