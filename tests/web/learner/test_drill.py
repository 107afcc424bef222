"""The drill over HTTP: answer by answer without script, as a packet with it; wrong, repeated and foreign answers."""

from __future__ import annotations

import gzip
import re
import uuid
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from sqlalchemy import func, select, update

from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, MemoryRow, SightRow, TallyRow
from tests import cast
from tests.practice.small_hall import SmallHall
from tests.visits import Hall, Visitor


def count(hall: Hall, table: type) -> int:
    with hall.store.look() as db:
        return int(db.scalar(select(func.count()).select_from(table)) or 0)


def fields_of(page: str) -> dict[str, str]:
    found = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page))
    return {name: unescape(value) for name, value in found.items()}


def begin(visitor: Visitor) -> dict[str, Any]:
    """Plan a drill and return its packet."""
    planned = visitor.client.post(
        "/drills", json={}, headers={"X-CSRFToken": visitor.token(), "Referer": visitor.base}, base_url=visitor.base
    )
    assert planned.status_code == 201
    packet = visitor.get(planned.get_json()["packet_url"]).get_json()
    assert isinstance(packet, dict)
    return packet


def send(visitor: Visitor, answers: Any) -> Any:
    headers = {"X-CSRFToken": visitor.token(), "Referer": f"{visitor.base}/"}
    return visitor.client.post("/drills/answers", json={"answers": answers}, headers=headers, base_url=visitor.base)


def answers_to(packet: dict[str, Any], at: str) -> list[dict[str, Any]]:
    return [
        {
            "id": str(uuid.uuid4()),
            "showing": showing["showing"],
            "ask": ask["place"],
            "said": ask["answer_key"],
            "sure": "certain" if ask["kind"] == "form" else None,
            "seconds": 3.5,
            "hint": False,
            "at": at,
        }
        for one in packet["rounds"]
        for showing in one["showings"]
        for ask in showing["asks"]
    ]


def test_today_says_as_many_minutes_as_the_first_picture_does(hall: Hall, learner: Visitor) -> None:
    with hall.store.work() as db:
        db.execute(update(AccountRow).values(minutes_a_day=2, round_length=6))
    before = re.search(r"about (\d+) minute", learner.get("/").text)
    packet = begin(learner)
    first = learner.get(f"/drill?met={packet['rounds'][0]['round']}").text
    left = re.search(r"Picture 1, (\d+) min left", first)
    assert before is not None
    assert left is not None
    assert before[1] == left[1] == "3", "12 pictures at 12 seconds are 2.4 minutes"


def test_a_whole_drill_without_script(hall: Hall, learner: Visitor) -> None:
    """Start, meet the pair, answer each question by a form, read each explanation, and see what it came to."""
    assert "Start today's drill" in learner.get("/").text.replace("&#39;", "'")
    assert learner.post("/drills").location == "/drill"
    answered = explained = met = 0
    for _ in range(200):
        answer = learner.get("/drill")
        if answer.status_code == 303:
            break
        if "Try a round" in answer.text:
            met += 1
            onward = re.search(r'data-begin href="([^"]+)"', answer.text)
            assert onward is not None
            answer = learner.get(unescape(onward[1]))
        fields = fields_of(answer.text)
        said = re.search(r'name="answer" value="([^"]+)"', answer.text)
        assert said is not None
        hall.clock.move(seconds=9)
        sent = learner.post("/drills/answers", fields | {"answer": said[1]})
        assert sent.status_code == 303
        told = learner.get(sent.location)
        assert ("Right" in told.text) or ("Missed" in told.text)
        assert "data-next" in told.text
        answered += 1
        explained += "Next" in told.text or "How it went" in told.text
    assert answer.location.startswith("/drill/end")
    end = learner.get(answer.location)
    assert "That was today's drill" in unescape(end.text)
    assert answered == explained == count(hall, AnswerRow)
    assert met == 3
    with hall.store.look() as db:
        assert {row.seconds for row in db.scalars(select(AnswerRow))} == {9.0}


def test_a_page_sent_twice_counts_once(hall: Hall, learner: Visitor) -> None:
    learner.post("/drills")
    page = learner.get("/drill").text
    if "Try a round" in page:
        page = learner.get(unescape(re.findall(r'data-begin href="([^"]+)"', page)[0])).text
    fields = fields_of(page) | {"answer": re.findall(r'name="answer" value="([^"]+)"', page)[0]}
    for _ in range(2):
        assert learner.post("/drills/answers", fields).status_code == 303
    assert count(hall, AnswerRow) == 1


def test_the_hint_tells_where_to_look_and_is_kept_with_the_answer(hall: Hall, learner: Visitor) -> None:
    learner.post("/drills")
    page = learner.get("/drill?hint=1").text
    assert "Look here" in page
    fields = fields_of(page)
    assert fields["hint"] == "1"
    learner.post("/drills/answers", fields | {"answer": re.findall(r'name="answer" value="([^"]+)"', page)[0]})
    with hall.store.look() as db:
        assert db.scalars(select(AnswerRow.hint)).one() is True


def test_a_packet_played_and_sent_moves_memory_tally_and_sight(hall: Hall, learner: Visitor) -> None:
    packet = begin(learner)
    answers = answers_to(packet, hall.clock().isoformat())
    stored = send(learner, answers).get_json()
    assert set(stored["stored"]) == {one["id"] for one in answers}
    assert stored["refused"] == []
    assert stored["withdrawn"] == []
    assert set(stored["standing"].values()) == {"shaky"}
    assert len(stored["standing"]) == 3
    assert count(hall, AnswerRow) == len(answers)
    assert count(hall, MemoryRow) == 3
    assert count(hall, TallyRow) > 0
    assert count(hall, SightRow) > 0


def test_a_picture_withdrawn_meanwhile_is_named_at_the_next_contact(hall: Hall, learner: Visitor) -> None:
    packet = begin(learner)
    gone = packet["rounds"][-1]["showings"][0]["picture"]["id"]
    with hall.store.work() as db:
        db.execute(update(PictureRow).where(PictureRow.public_id == gone).values(retired_at=hall.clock()))
    assert send(learner, answers_to(packet, hall.clock().isoformat())[:1]).get_json()["withdrawn"] == [gone]


def test_sending_a_batch_again_stores_nothing_twice(hall: Hall, learner: Visitor) -> None:
    answers = answers_to(begin(learner), hall.clock().isoformat())
    send(learner, answers)
    again = send(learner, answers).get_json()
    assert again["stored"] == []
    assert set(again["known"]) == {one["id"] for one in answers}
    assert count(hall, AnswerRow) == len(answers)


def test_the_page_and_the_packet_hold_the_same_words(hall: Hall, learner: Visitor) -> None:
    packet = begin(learner)
    ask = packet["rounds"][0]["showings"][0]["asks"][0]
    page = learner.get(f"/drill?met={packet['rounds'][0]['round']}").text
    heading = re.search(r'<h1 id="question">(.*?)</h1>', page, re.S)
    in_packet = re.search(r'<h1 id="question">(.*?)</h1>', ask["question_html"], re.S)
    assert heading is not None
    assert in_packet is not None
    assert heading[1] == in_packet[1]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"showing": 10**7}, "not in a drill of yours"),
        ({"showing": "one"}, '"showing" is missing or of the wrong kind'),
        ({"showing": True}, '"showing" is missing or of the wrong kind'),
        ({"ask": 9}, "no question 9"),
        ({"said": "-1"}, "among the choices"),
        ({"said": None}, '"said" is missing'),
        ({"sure": "absolutely"}, "certain, probable or possible"),
        ({"seconds": -1}, "0 or more"),
        ({"seconds": "3"}, '"seconds" is missing or of the wrong kind'),
        ({"at": "yesterday"}, "with its zone"),
        ({"at": "2031-03-03T09:00:00"}, "with its zone"),
        ({"phone_now": "later"}, "with its zone"),
        ({"id": "17"}, "must be a UUID"),
        ({"id": "\ud800"}, "must be a UUID"),
        ({"id": "a\x00b"}, "must be a UUID"),
        ({"showing": 2**40}, "no number of this hall"),
        ({"showing": 2**70}, "no number of this hall"),
        ({"seconds": 10**400}, "0 or more"),
        ({"at": "0001-01-01T00:00:00+14:00"}, "with its zone"),
        ({"at": "9999-12-31T23:59:59-14:00"}, "with its zone"),
        ({"phone_now": "9999-12-31T23:59:59-14:00"}, "with its zone"),
    ],
)
def test_a_wrong_answer_is_refused_by_name_and_the_rest_is_kept(hall: Hall, learner: Visitor, change: dict[str, Any], says: str) -> None:
    answers = [one for one in answers_to(begin(learner), hall.clock().isoformat()) if one["sure"]][:2]
    answers[0] |= change
    answer = send(learner, answers)
    assert answer.status_code == 200
    told = answer.get_json()
    assert [one["id"] for one in told["refused"]] == [answers[0]["id"]]
    assert says in told["refused"][0]["why"]
    assert told["stored"] == [answers[1]["id"]]


@pytest.mark.parametrize("body", [[], {}, {"answers": []}, {"answers": "many"}, {"answers": [3]}, {"answers": [{}]}])
def test_what_is_no_batch_at_all_is_422_with_a_sentence(learner: Visitor, body: Any) -> None:
    headers = {"X-CSRFToken": learner.token(), "Referer": f"{learner.base}/"}
    answer = learner.client.post("/drills/answers", json=body, headers=headers, base_url=learner.base)
    assert answer.status_code == 422
    assert answer.get_json()["field"] == "answers"


def test_a_queue_of_somebody_else_is_kept_for_her(hall: Hall, learner: Visitor) -> None:
    """Her drill lies open, somebody else signs in on the device: 401, so that the page keeps what waits."""
    answers = answers_to(begin(learner), hall.clock().isoformat())
    stranger = hall.enter(cast.STRANGER)
    headers = {"X-CSRFToken": stranger.token(), "Referer": f"{stranger.base}/"}
    body = {"queue": "drillhall-queue-of-another-1", "answers": answers}
    assert stranger.client.post("/drills/answers", json=body, headers=headers, base_url=stranger.base).status_code == 401
    assert count(hall, AnswerRow) == 0


def test_answers_without_the_token_are_not_taken(hall: Hall, learner: Visitor) -> None:
    answers = answers_to(begin(learner), hall.clock().isoformat())
    answer = learner.client.post("/drills/answers", json={"answers": answers}, base_url=learner.base)
    assert answer.status_code == 400
    assert count(hall, AnswerRow) == 0


def test_a_stranger_neither_sees_nor_answers_my_drill(hall: Hall, learner: Visitor) -> None:
    packet = begin(learner)
    stranger = hall.enter(cast.STRANGER)
    assert stranger.get(f"/drills/{packet['drill']}").status_code == 404
    assert stranger.get(f"/drill/end?drill={packet['drill']}").status_code == 404
    told = send(stranger, answers_to(packet, hall.clock().isoformat())).get_json()
    assert told["stored"] == []
    assert count(hall, AnswerRow) == 0


def test_an_answer_from_a_clock_a_day_ahead_is_put_right(hall: Hall, learner: Visitor) -> None:
    tomorrow = hall.clock() + timedelta(days=1)
    answers = answers_to(begin(learner), tomorrow.isoformat())[:1]
    hall.clock.move(minutes=1)
    answers[0]["phone_now"] = (tomorrow + timedelta(seconds=30)).isoformat()
    send(learner, answers)
    with hall.store.look() as db:
        row = db.scalars(select(AnswerRow)).one()
    assert row.at == hall.clock() - timedelta(seconds=30)
    assert row.phone_at == tomorrow


@pytest.mark.parametrize(("at", "phone_now"), [("0002-01-01", "9998-12-01"), ("9998-12-01", "0002-01-01")])
def test_two_times_that_no_clock_can_have_are_refused_alone(hall: Hall, learner: Visitor, at: str, phone_now: str) -> None:
    answers = answers_to(begin(learner), hall.clock().isoformat())[:2]
    answers[0] |= {"at": f"{at}T00:00:00+00:00", "phone_now": f"{phone_now}T00:00:00+00:00"}
    told = send(learner, answers).get_json()
    assert [one["id"] for one in told["refused"]] == [answers[0]["id"]]
    assert told["stored"] == [answers[1]["id"]]


def test_reading_the_pages_of_a_drill_writes_nothing(hall: Hall, learner: Visitor) -> None:
    packet = begin(learner)
    before = [count(hall, table) for table in (AnswerRow, SightRow, TallyRow)]
    for path in ("/", "/drill", f"/drills/{packet['drill']}", "/standing", "/shelf", "/drill/end"):
        assert learner.get(path).status_code == 200
    assert [count(hall, table) for table in (AnswerRow, SightRow, TallyRow)] == before


def test_without_an_open_drill_the_way_leads_to_today(learner: Visitor) -> None:
    assert learner.get("/drill").location == "/"
    assert learner.get("/drill/end").location == "/"


def test_a_drill_page_brings_no_more_than_it_may(learner: Visitor) -> None:
    """40 KB with headers, packed, before pictures: counted here as it would come by HTTP/1.1; the bench measures it in a browser."""
    begin(learner)
    packed = {"Accept-Encoding": "gzip"}
    page = learner.get("/drill", headers=packed)
    files = re.findall(r'(?:href|src)="([^"]*/static/[^"]+\.(?:css|js))"', gzip.decompress(page.data).decode())
    came = [page, *(learner.get(file, headers=packed) for file in dict.fromkeys(files))]
    assert len(came) > 12
    assert sum(len(str(answer.headers)) + len(answer.data) for answer in came) <= 40 * 1024
    for answer in came:
        answer.close()


def test_nothing_to_drill_says_what_to_do_first(hall: Hall, small: SmallHall) -> None:
    newcomer = hall.enter(cast.STRANGER)
    answer = newcomer.post("/drills")
    assert answer.status_code == 409
    assert "Take a pair set from the shelf first" in answer.text
