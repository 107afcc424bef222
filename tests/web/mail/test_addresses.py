"""An address of one's own over HTTP: given, confirmed from the letter, changed, forgotten, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import select

from drillhall.acts.send_mail import send_waiting
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.post import AddressRow
from drillhall.web.office import office_of
from tests.cast import LEARNER
from tests.post.postbox import taking
from tests.visits import Hall
from tests.web.mail.conftest import Club, follow, link_in


def test_an_address_is_good_once_its_letter_was_followed(club: Club) -> None:
    club.member.post("/settings/mail", {"address": "Pell@Club.Example"})
    (letter,) = club.letters()
    assert letter.address == "Pell@club.example"
    path = link_in(letter.text, "confirm")
    assert "not confirmed yet" in club.member.get("/settings/mail").text
    assert club.hall.visitor().get(path).status_code == 200
    assert "not confirmed yet" in club.member.get("/settings/mail").text, "opening a link changes nothing"
    answer = follow(club.hall, path)
    assert (answer.status_code, follow(club.hall, path).status_code) == (303, 303), "twice is no fault"
    assert "It is confirmed" in club.hall.visitor().get(answer.location).text
    assert "confirmed 3 March" in club.member.get("/settings/mail").text


def test_another_address_takes_the_place_and_the_old_link_is_over(club: Club) -> None:
    club.member.post("/settings/mail", {"address": "old@club.example"})
    old = link_in(club.letters()[0].text, "confirm")
    club.member.post("/settings/mail", {"address": "new@club.example"})
    assert [one.address for one in club.letters()] == ["new@club.example"]
    assert follow(club.hall, old).status_code == 404
    assert follow(club.hall, link_in(club.letters()[0].text, "confirm")).status_code == 303


def test_a_link_is_over_after_two_days_and_the_address_is_forgotten(club: Club) -> None:
    from drillhall.people.addresses import forget_unconfirmed

    club.member.post("/settings/mail", {"address": "pell@club.example"})
    club.hall.clock.move(hours=48, seconds=1)
    answer = follow(club.hall, link_in(club.letters()[0].text, "confirm"))
    assert (answer.status_code, "This link is over" in answer.text) == (404, True)
    assert club.hall.visitor().get(link_in(club.letters()[0].text, "confirm")).status_code == 404
    with club.hall.store.work() as db:
        forget_unconfirmed(db, at=club.hall.clock())
        assert db.scalars(select(AddressRow)).all() == []


def test_forgetting_it_leaves_nothing_of_it(club: Club) -> None:
    club.reach()
    club.member.post("/settings/mail", {"address": "other@club.example"})
    assert club.member.post("/settings/mail/forget").status_code == 303
    assert [one.address for one in club.letters() if one.address] == []
    with club.hall.store.look() as db:
        assert db.scalars(select(AddressRow)).all() == []


@pytest.mark.parametrize("typed", ["", "pell@", "@club.example", "pell@club", "a b@club.example", "p@club.example\r\nBcc: x@y.example"])
def test_what_is_no_address_is_refused_by_its_field(club: Club, typed: str) -> None:
    answer = club.member.post("/settings/mail", {"address": typed})
    assert answer.status_code == 422
    assert "That is no address for mail" in answer.text
    assert club.letters() == []


def test_letters_are_not_sent_without_end(club: Club) -> None:
    answers = [club.member.post("/settings/mail", {"address": f"p{number}@club.example"}).status_code for number in range(12)]
    assert answers == [303] * 10 + [429] * 2


@pytest.mark.parametrize(("part", "by"), [("confirm-address", "stop-reminders"), ("confirm-address", "confirm"), (".", ".x")])
def test_a_link_that_was_changed_or_made_up_opens_nothing(club: Club, part: str, by: str) -> None:
    club.member.post("/settings/mail", {"address": "pell@club.example"})
    path = link_in(club.letters()[0].text, "confirm").replace(part, by)
    assert club.hall.visitor().get(path).status_code == 404
    assert follow(club.hall, path).status_code == 404


def test_without_a_mail_server_the_page_says_why_and_all_else_works(hall: Hall) -> None:
    visitor = hall.enter(LEARNER)
    page = visitor.get("/settings/mail")
    assert page.status_code == 200
    assert "has named no mail server" in page.text
    assert 'name="address"' not in page.text
    assert visitor.post("/settings/mail", {"address": "oda@club.example"}).status_code == 503
    assert visitor.get("/").status_code == 200


def test_an_address_still_waiting_to_be_confirmed_gets_no_reminder(club: Club) -> None:
    from drillhall.acts.remind import remind
    from tests.web.mail.conftest import office

    club.give()
    club.member.post("/settings/mail", {"address": "pell@club.example"})
    with club.hall.store.work() as db:
        assert remind(db, office(club.hall), at=club.hall.clock() + timedelta(days=3)) == 0


def test_an_address_refused_for_good_is_forgotten_and_its_owner_is_told(club: Club) -> None:
    club.member.post("/settings/mail", {"address": "pell@club.example"})
    with taking() as (box, server):
        box.rcpt_replies.append("550 5.1.1 no such box")
        made = office_of(club.hall.app.extensions["drillhall.settings"], str(club.hall.app.secret_key))
        assert made is not None
        send_waiting(club.hall.store, FolderStorage(club.hall.folder), replace(made, server=server), clock=club.hall.clock)
    page = club.member.get("/settings/mail").text
    assert "its mail server refused the address that you had given" in page
    assert "pell@club.example" not in page
    with club.hall.store.look() as db:
        assert list(db.scalars(select(AddressRow))) == []
    club.reach("pell@other.example")
    assert "refused the address" not in club.member.get("/settings/mail").text
