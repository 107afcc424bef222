"""An open question by mail: asked for by anybody, confirmed, sent each day to a real server, ended by one click, forgotten."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from io import BytesIO
from typing import Any

import pytest
from PIL import Image
from sqlalchemy import select

from drillhall.acts.mail_open_questions import mail_open_questions
from drillhall.acts.send_mail import send_waiting
from drillhall.config import MailSettings
from drillhall.pictures.storage import FolderStorage
from drillhall.post.office import Office
from drillhall.practice.open_questions import subscribing
from drillhall.store.base import Row
from drillhall.store.models.open_questions import OpenQuestionRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.post import LetterRow, SubscriptionRow
from drillhall.web.office import office_of
from tests.cast import KEEPER
from tests.post.postbox import HALL, taking
from tests.visits import open_hall
from tests.web.open_questions.conftest import Asked
from tests.web.open_questions.test_asking import say

READER = "reader@far.example"


@pytest.fixture
def mailed(asked: Asked) -> Asked:
    """The same hall behind https, and with a mail server."""
    asked.hall = open_hall(
        asked.hall.store, asked.hall.folder, public_url=HALL, mail=MailSettings("127.0.0.1", 9, "none", "h@hall.example")
    )
    asked.hall.clock.at = datetime.fromisoformat("2031-03-03T09:00+00:00")
    return asked


def office(asked: Asked) -> Office:
    made = office_of(asked.hall.app.extensions["drillhall.settings"], str(asked.hall.app.secret_key))
    assert made is not None
    return made


def letters(asked: Asked) -> list[LetterRow]:
    with asked.hall.store.look() as db:
        return list(db.scalars(select(LetterRow).where(LetterRow.address != "").order_by(LetterRow.id)))


def ask(asked: Asked, address: str = READER) -> int:
    return asked.visitor().post(f"{asked.link}/by-mail", {"address": address}).status_code


def press(asked: Asked, link: str, **data: str) -> Any:
    return asked.hall.app.test_client(use_cookies=False).post(link.removeprefix(HALL), data=data or {"page": "yes"}, base_url=HALL)


def subscribe(asked: Asked, address: str = READER) -> None:
    assert ask(asked, address) == 303
    link = re.findall(r"https://\S+/mail/confirm-question/\S+", letters(asked)[-1].text)[0]
    assert press(asked, link).status_code == 303


def run(asked: Asked) -> int:
    with asked.hall.store.work() as db:
        return mail_open_questions(db, office(asked), at=asked.hall.clock())


def test_each_day_one_letter_with_text_page_and_picture_and_no_answer(mailed: Asked) -> None:
    subscribe(mailed)
    say(mailed, mailed.visitor())
    assert (run(mailed), run(mailed)) == (1, 0)
    with taking() as (box, server):
        sending = office(mailed)
        sent = Office(server, sending.sender, sending.public_url, sending.key)
        assert send_waiting(mailed.hall.store, FolderStorage(mailed.hall.folder / "pictures"), sent, clock=mailed.hall.clock) == 2
    letter = box.letters[-1]
    plain = letter.get_body(("plain",))
    page = letter.get_body(("html",))
    assert plain is not None
    assert page is not None
    assert f"{HALL}{mailed.link}" in plain.get_content()
    assert letter["Subject"].endswith("?")
    assert letter["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert re.findall(r'src="([^"]*)"', page.get_content()) == ["cid:picture"], "nothing is fetched from outside"
    pictures = [part for part in letter.walk() if part.get_content_maintype() == "image"]
    assert [part["Content-ID"] for part in pictures] == ["<picture>"]
    assert pictures[0].get_content_type() == "image/jpeg", "mail programs of all ages show it"
    with Image.open(BytesIO(pictures[0].get_content())) as shown:
        assert (shown.format, shown.mode) == ("JPEG", "RGB")
    assert "Yesterday" not in plain.get_content()


def test_the_answer_comes_with_the_next_days_letter(mailed: Asked) -> None:
    subscribe(mailed)
    say(mailed, mailed.visitor())
    say(mailed, mailed.visitor(), right=False)
    run(mailed)
    mailed.hall.clock.move(days=1)
    assert run(mailed) == 1
    told = letters(mailed)[-1].text.replace("\n", " ")
    assert "Yesterday's picture: " in told
    assert "1 of 2 said so." in told
    assert "Yesterday" not in letters(mailed)[-2].text


def test_a_days_letter_is_too_late_when_the_day_is_over(mailed: Asked) -> None:
    subscribe(mailed)
    run(mailed)
    assert letters(mailed)[-1].until == datetime.fromisoformat("2031-03-04T00:00+00:00")


def test_nothing_goes_before_it_is_confirmed_nor_before_six_in_the_morning(mailed: Asked) -> None:
    assert ask(mailed) == 303
    assert run(mailed) == 0
    subscribe(mailed, "other@far.example")
    mailed.hall.clock.at = datetime.fromisoformat("2031-03-04T05:59+00:00")
    assert run(mailed) == 0
    mailed.hall.clock.move(minutes=1)
    assert run(mailed) == 1


def test_one_click_ends_it_and_the_address_leaves_no_trace(mailed: Asked) -> None:
    subscribe(mailed)
    run(mailed)
    waiting = letters(mailed)[-1]
    assert press(mailed, waiting.unsubscribe, **{"List-Unsubscribe": "One-Click"}).status_code == 200
    with mailed.hall.store.look() as db:
        everything = [repr(row) for table in Row.metadata.sorted_tables for row in db.execute(select(table)).all()]
    assert len(everything) > 50
    assert not [row for row in everything if "reader" in row or "far.example" in row]
    mailed.hall.clock.move(days=1)
    assert run(mailed) == 0
    assert press(mailed, waiting.unsubscribe, **{"List-Unsubscribe": "One-Click"}).status_code == 200, "a second click is no fault"


def test_whether_an_address_is_known_shows_nowhere_and_it_gets_one_letter(mailed: Asked) -> None:
    assert [ask(mailed) for _ in range(3)] == [303] * 3
    assert len(letters(mailed)) == 1
    subscribed = mailed.visitor().post(f"{mailed.link}/by-mail", {"address": READER})
    fresh = mailed.visitor().post(f"{mailed.link}/by-mail", {"address": "new@far.example"})
    assert (subscribed.status_code, subscribed.location) == (fresh.status_code, fresh.location)


def test_what_nobody_confirms_is_forgotten_and_so_are_all_of_an_ended_question(mailed: Asked) -> None:
    ask(mailed)
    subscribe(mailed, "other@far.example")
    with mailed.hall.store.work() as db:
        subscribing.forget_unconfirmed(db, at=mailed.hall.clock() + timedelta(hours=49))
        assert db.scalars(select(SubscriptionRow.address)).all() == ["other@far.example"]
        db.scalars(select(OpenQuestionRow)).one().ended_at = mailed.hall.clock()
        db.flush()
        subscribing.forget_unconfirmed(db, at=mailed.hall.clock())
        assert db.scalars(select(SubscriptionRow)).all() == []


def test_the_leader_sees_a_number_alone(mailed: Asked) -> None:
    subscribe(mailed)
    from tests.cast import KEEPER

    page = mailed.hall.enter(KEEPER, known=True).get(mailed.led).text
    assert "to one address" in page
    assert "far.example" not in page


def test_an_address_that_is_none_a_flood_and_an_ended_question_are_refused(mailed: Asked) -> None:
    wrong = mailed.visitor().post(f"{mailed.link}/by-mail", {"address": "reader"})
    assert (wrong.status_code, "That is no address for mail" in wrong.text) == (422, True)
    assert [ask(mailed, f"r{number}@far.example") for number in range(10)] == [303] * 9 + [429]
    with mailed.hall.store.work() as db:
        db.scalars(select(OpenQuestionRow)).one().ended_at = mailed.hall.clock()
    assert mailed.visitor().get(f"{mailed.link}/by-mail").status_code == 404


def test_without_a_mail_server_it_says_why(asked: Asked) -> None:
    page = asked.visitor().get(f"{asked.link}/by-mail")
    assert "has named no mail server" in page.text
    assert ask(asked) == 503
    assert "has named no mail server" in asked.leader.get(asked.led).text


def test_a_picture_withdrawn_meanwhile_is_not_sent(mailed: Asked) -> None:
    subscribe(mailed)
    run(mailed)
    with mailed.hall.store.work() as db:
        for row in db.scalars(select(PictureRow)):
            row.retired_at = mailed.hall.clock()
    with taking() as (box, server):
        sending = office(mailed)
        sent = Office(server, sending.sender, sending.public_url, sending.key)
        assert send_waiting(mailed.hall.store, FolderStorage(mailed.hall.folder / "pictures"), sent, clock=mailed.hall.clock) == 1
    assert "shall it come" in box.letters[0]["Subject"]
    assert letters(mailed) == []


def test_two_workers_take_each_reader_once(store: Any) -> None:
    """On both engines: the second of two who ask for turns on one day gets none."""
    from drillhall.practice.open_questions.keeping import OpenQuestion
    from drillhall.store.models.groups import GroupRow
    from tests.practice.small_hall import NOON, make_small_hall

    with store.work() as db:
        small = make_small_hall(db)
        group = GroupRow(public_id="g", title="G", kind="club", is_paid=False, made_at=NOON)
        db.add(group)
        db.flush()
        told = {"title": "T", "zone": "UTC", "seed": "0", "feed_id": "x", "first_day": NOON.date(), "made_at": NOON}
        row = OpenQuestionRow(public_id="q", group_id=group.id, pair_set_id=small.pair_set, **told)
        db.add(row)
        db.flush()
        db.add(SubscriptionRow(question_id=row.id, public_id="s", address=READER, asked_at=NOON, confirmed_at=NOON))
        question = OpenQuestion(
            row.id, "q", "T", "UTC", (), "x", NOON.date(), date(2031, 3, 3), "G", "S", small.pair_set, False, None, True
        )
    for expected in ([READER], []):
        with store.work() as db:
            assert subscribing.list_asked(db, at=NOON) == (("q",) if expected else ())
            assert [one.address for one in subscribing.take_turns(db, question)] == expected


def test_an_address_refused_for_good_is_subscribed_no_more_and_counted_for_who_asks(mailed: Asked) -> None:
    subscribe(mailed)
    subscribe(mailed, "other@far.example")
    say(mailed, mailed.visitor())
    with taking() as (box, server):
        there = replace(office(mailed), server=server)
        storage = FolderStorage(mailed.hall.folder / "pictures")
        send_waiting(mailed.hall.store, storage, there, clock=mailed.hall.clock)
        assert run(mailed) == 2
        box.rcpt_replies += ["550 5.2.2 full", "550 5.1.1 no such box"]
        send_waiting(mailed.hall.store, storage, there, clock=mailed.hall.clock)
    with mailed.hall.store.look() as db:
        assert list(db.scalars(select(SubscriptionRow.address))) == [READER], "a full box is no missing one"
    page = mailed.hall.enter(KEEPER, known=True).get(mailed.led).text
    assert "1 address was refused for good by the mail server there lately, and gets it no more." in page
    assert "far.example" not in page
