"""Plays a drill over HTTP: page by page, as a browser without scripts does, or by its packet, as the script of the page does."""

from __future__ import annotations

import re
from html import unescape

from sqlalchemy import select

from drillhall.practice import playing
from drillhall.store.models.practice import DrillRow
from tests.hall import Hall
from tests.practice.playing import Knows, answers_to
from tests.visits import Visitor


def play_by_pages(hall: Hall, visitor: Visitor, account_id: int, *, knows: Knows) -> int:
    """Start today's drill and answer every question that its pages ask, rightly where she knows it; return how many that were.

    What is right stands on no page that asks, so it is read from the store.
    """
    assert visitor.post("/drills").status_code == 303
    right = _right_answers(hall, account_id, knows)
    for answered in range(200):
        page = visitor.get("/drill")
        if page.status_code == 303:
            assert str(page.location).startswith("/drill/end")
            assert visitor.get(str(page.location)).status_code == 200
            return answered
        if "data-begin" in page.text:
            onward = re.search(r'data-begin href="([^"]+)"', page.text)
            assert onward
            page = visitor.get(unescape(onward[1]))
        fields = {name: unescape(value) for name, value in re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page.text)}
        offered = re.findall(r'name="answer" value="([^"]+)"', page.text)
        said = right[int(fields["showing"]), int(fields["ask"])]
        hall.clock.pass_by(seconds=9)
        sent = visitor.post("/drills/answers", fields | {"answer": next(one for one in offered if one.partition(":")[0] == said)})
        assert sent.status_code == 303
        assert re.search("Right|Missed", visitor.get(str(sent.location)).text)
    raise AssertionError("The drill never ends.")


def play_by_script(hall: Hall, visitor: Visitor, account_id: int, *, knows: Knows) -> int:
    """Plan today's drill, answer its packet in one batch, and return how many answers the hall stored."""
    headers = {"X-CSRFToken": visitor.token(), "Referer": f"{visitor.base}/"}
    planned = visitor.client.post("/drills", json={}, headers=headers, base_url=visitor.base)
    assert planned.status_code == 201
    with hall.store.look() as db:
        packet = playing.the_packet(db, account_id, str(planned.get_json()["packet_url"]).rpartition("/")[2], now=hall.clock.now)
    told = [
        {"id": one.id, "showing": one.showing, "ask": one.ask, "said": one.said, "sure": one.sure, "seconds": 8, "at": one.at.isoformat()}
        for one in answers_to(packet, at=hall.clock.now, knows=knows)
    ]
    hall.clock.pass_by(minutes=10)
    stored = visitor.client.post("/drills/answers", json={"answers": told}, headers=headers, base_url=visitor.base).get_json()
    assert stored["refused"] == []
    return len(stored["stored"])


def _right_answers(hall: Hall, account_id: int, knows: Knows) -> dict[tuple[int, int], str]:
    """Return what she says to each question of her open drill, by showing and place."""
    with hall.store.look() as db:
        latest = select(DrillRow.id).where(DrillRow.account_id == account_id).order_by(DrillRow.planned_at.desc())
        packet = playing.the_packet(db, account_id, db.scalars(latest).first() or "", now=hall.clock.now)
    return {
        (showing.id, question.place): question.key
        if knows(view, question)
        else next(choice.key for choice in question.choices if choice.key != question.key)
        for view in packet.rounds
        for showing in view.showings
        for question in showing.questions
    }
