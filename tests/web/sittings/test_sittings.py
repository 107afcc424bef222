"""Sitting a field test over HTTP: one question at a time, without scripts, from two devices, late, and never with a key in sight."""

from __future__ import annotations

import re
from datetime import timedelta

from sqlalchemy import select, update

from drillhall.store.models.field_tests import FieldTestQuestionRow, SittingItemRow, SittingRow
from drillhall.store.models.pictures import FileRow, PictureRow
from tests.cast import LEARNER
from tests.visits import Visitor
from tests.web.teacher.a_class import Class


def _shown(visitor: Visitor, question: str) -> str:
    """Return the address of the picture on a question's page."""
    found = re.search(r'(?:src|href)="(/sittings/[^"]+/\d+/\d+)"', visitor.get(question).text)
    assert found
    return found[1]


def test_a_pupil_finds_begins_and_hands_in_a_test(room: Class) -> None:
    assert "None yet" in room.pupil.get("/field-tests").text
    test = room.set_test()
    hers = f"/field-tests/{test.rpartition('/')[2]}"
    assert "Autumn test" in room.pupil.get("/field-tests").text
    before = room.pupil.get(hers).text
    assert "You have 20 minutes" in before
    first = room.begin(test)
    page = room.pupil.get(first).text
    assert "picture 1 of 4. About 20 minutes left, until 3 March, 09:20." in page
    assert page.count('name="said"') == 3
    sitting = room.sit(test)  # goes on with the same
    done = room.pupil.get(sitting).text
    assert "Handed in" in done
    assert "You answered 4 of 4" in done
    assert room.pupil.get(first).location == sitting
    assert "results are not released yet" in room.pupil.get("/field-tests").text
    assert "Your results come once" in room.pupil.get(hers).text


def test_today_tells_of_a_test_until_she_has_sat_it(room: Class) -> None:
    assert "field test" not in room.pupil.get("/").text
    test = room.set_test()
    line = f'<a href="/field-tests/{test.rpartition("/")[2]}">Autumn test</a>'
    page = room.pupil.get("/").text
    assert "has set a field test, open until" in page
    assert line in page
    assert line not in room.stranger.get("/").text
    room.begin(test)
    page = room.pupil.get("/").text
    assert "You are sitting a field test" in page
    assert line in page
    room.sit(test)
    assert line not in room.pupil.get("/").text


def test_today_says_nothing_of_a_test_that_is_over_or_called_off(room: Class) -> None:
    test = room.set_test()
    assert "Autumn test" in room.pupil.get("/").text
    room.teacher.post(f"{test}/off")
    assert "Autumn test" not in room.pupil.get("/").text
    room.set_test()
    room.hall.clock.move(days=30)
    assert "Autumn test" not in room.pupil.get("/").text


def test_neither_page_nor_address_tells_what_it_is(room: Class) -> None:
    question = room.begin(room.set_test())
    page = room.pupil.get(question).text
    with room.hall.store.look() as db:
        pictures = db.scalars(select(PictureRow).where(PictureRow.use == "held-out")).all()
        recipes = db.scalars(select(FileRow.recipe).where(FileRow.picture_id.in_([one.id for one in pictures]))).all()
    assert not any(secret in page for secret in [*(one.public_id for one in pictures), *recipes])
    assert "right" not in page.lower().replace("bright", "")


def test_a_picture_is_served_in_the_sitting_it_is_before_and_nowhere_else(room: Class) -> None:
    test = room.set_test()
    question = room.begin(test)
    picture = _shown(room.pupil, question)
    served = room.pupil.get(picture)
    assert served.status_code == 200
    assert served.content_type.startswith("image/")
    assert served.headers["Cache-Control"] == "no-store"
    assert "sandbox" in served.headers["Content-Security-Policy"]
    for visitor in (room.teacher, room.other, room.stranger):
        assert visitor.get(picture).status_code == 404
        assert visitor.get(question).status_code == 404
    assert room.hall.visitor().get(picture).status_code in (302, 303, 401)
    sitting = question.rpartition("/")[0]
    width = picture.rpartition("/")[2]
    assert room.pupil.get(f"{sitting}/2/{width}").status_code == 404  # not reached yet
    assert room.pupil.get(f"{sitting}/1/7").status_code == 404
    with room.hall.store.look() as db:
        whole = db.execute(
            select(PictureRow.public_id, FileRow.recipe)
            .join(FileRow, FileRow.picture_id == PictureRow.id)
            .where(PictureRow.use == "held-out")
        ).all()
    assert {room.pupil.get(f"/pictures/{public_id}/{recipe}").status_code for public_id, recipe in whole} == {404}
    room.pupil.post(f"{sitting}/hand-in")
    assert room.pupil.get(picture).status_code == 404


def test_two_devices_are_one_sitting(room: Class) -> None:
    test = room.set_test()
    phone, laptop = room.pupil, room.hall.enter(LEARNER, known=True)
    first = room.begin(test, phone)
    said = room.choices(first, phone)
    second = str(phone.post(first, {"said": said[0]}).location)
    assert room.begin(test, laptop) == second
    laptop.post(first, {"said": said[1]})
    assert re.search(rf'value="{said[1]}"><span>.*as you said', phone.get(first).text)
    sitting = first.rpartition("/")[0]
    assert phone.post(f"{sitting}/hand-in").status_code == 303
    assert laptop.post(f"{sitting}/hand-in").status_code == 303
    late = laptop.post(first, {"said": said[0]})
    assert late.status_code == 409
    assert "handed in" in late.text
    with room.hall.store.look() as db:
        assert len(db.scalars(select(SittingRow)).all()) == 1
    assert room.pupil.post(f"/field-tests/{test.rpartition('/')[2]}/begin").status_code == 409


def test_late_answers_are_refused_with_what_counts(room: Class) -> None:
    first = room.begin(room.set_test())
    said = room.choices(first)
    second = str(room.pupil.post(first, {"said": said[0]}).location)
    room.hall.clock.move(minutes=25)
    assert room.pupil.get(second).location == first.rpartition("/")[0]
    late = room.pupil.post(second, {"said": said[0]})
    assert late.status_code == 409
    assert "came too late" in late.text
    page = room.pupil.get(first.rpartition("/")[0]).text
    assert "The time is over" in page
    assert "You answered 1 of 4" in page


def test_of_the_last_minute_nobody_is_told_that_none_is_left(room: Class) -> None:
    first = room.begin(room.set_test(may_pause="yes"))
    assert "About 20 minutes left" in room.pupil.get(first).text
    room.hall.clock.move(minutes=19, seconds=20)
    assert "Less than a minute left, until" in room.pupil.get(first).text
    sitting = first.rpartition("/")[0]
    room.pupil.post(f"{sitting}/pause")
    assert "Less than a minute is left once you go on." in room.pupil.get(sitting).text


def test_looking_over_going_back_and_leaving_open(room: Class) -> None:
    first = room.begin(room.set_test(minutes=""))
    sitting = first.rpartition("/")[0]
    second = str(room.pupil.post(first, {"said": ""}).location)
    page = room.pupil.get(second).text
    assert "No clock runs" in page
    assert f'href="{first}"' in page
    over = room.pupil.get(sitting).text
    assert "0 of 4 answered" in over
    assert over.count("not reached") == 2
    assert "Go on with the next picture" in over
    room.pupil.post(first, {"said": room.choices(first)[0]})
    assert "1 of 4 answered" in room.pupil.get(sitting).text
    odd = room.pupil.post(first, {"said": "999"})
    assert odd.status_code == 422
    assert "Choose one of the two forms" in odd.text
    assert room.pupil.post(f"{sitting}/4", {"said": ""}).status_code == 404


def test_the_clock_is_stopped_with_the_picture_out_of_sight(room: Class) -> None:
    first = room.begin(room.set_test(may_pause="yes"))
    sitting, picture = first.rpartition("/")[0], _shown(room.pupil, first)
    assert room.pupil.post(f"{sitting}/pause").status_code == 303
    assert room.pupil.get(picture).status_code == 404
    assert room.pupil.get(first).location == sitting
    room.hall.clock.move(minutes=30)
    page = room.pupil.get(sitting).text
    assert "The clock is stopped" in page
    assert "About 20 minutes are left" in page
    assert room.pupil.post(f"{sitting}/go-on").location == first
    assert "About 20 minutes left" in room.pupil.get(first).text
    refused = room.begin(room.set_test())
    assert room.pupil.post(f"{refused.rpartition('/')[0]}/pause").status_code == 409


def test_a_withdrawn_picture_is_told_of_and_passed_over(room: Class) -> None:
    test = room.set_test()
    first = room.begin(test)
    with room.hall.store.work() as db:
        db.execute(update(PictureRow).where(PictureRow.id.in_(_first_asked(room))).values(retired_at=room.hall.clock()))
    sitting = first.rpartition("/")[0]
    assert room.pupil.get(first).location == sitting
    page = room.pupil.get(sitting).text
    assert "1 picture was withdrawn, so its question counts for nobody" in page
    assert f'action="{sitting}/0"' in page
    assert str(room.pupil.post(f"{sitting}/0").location).endswith("/2")
    assert "1 question counts for nobody" in room.teacher.get(test).text


def test_not_yet_open_and_shut(room: Class) -> None:
    test = room.set_test(opens_at="2031-03-03T12:00", until="2031-03-03T14:00")
    hers = f"/field-tests/{test.rpartition('/')[2]}"
    assert "It opens" in room.pupil.get(hers).text
    refused = room.pupil.post(f"{hers}/begin")
    assert refused.status_code == 409
    assert "not open yet" in refused.text
    room.hall.clock.at += timedelta(hours=6)
    assert "nobody begins it any more" in room.pupil.get(hers).text
    assert room.pupil.post(f"{hers}/begin").status_code == 409
    for visitor in (room.other, room.stranger):
        assert visitor.get(hers).status_code == 404
        assert visitor.post(f"{hers}/begin").status_code == 404


def _first_asked(room: Class) -> list[int]:
    with room.hall.store.look() as db:
        query = select(FieldTestQuestionRow.picture_id).join(SittingItemRow, SittingItemRow.question_id == FieldTestQuestionRow.id)
        return list(db.scalars(query.where(SittingItemRow.place == 1)))
