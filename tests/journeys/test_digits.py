"""The main job on real look-alikes from outside: scanned digits, imported, drilled over HTTP and in a browser, found in the database.

Source of the pictures: scikit-learn's `load_digits`, see tests/digits.py.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from sqlalchemy import func, select

from drillhall.core.values import Use
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.models.practice import AnswerRow, MemoryRow, RoundRow, ShowingRow
from tests import cast
from tests.digits import write_digits_catalogue
from tests.hall import Hall, build_hall, open_hall
from tests.visits import Visitor

PRACTICE, PORTRAITS, HELD_OUT = 12, 3, 2
PHONE = {"width": 360, "height": 740}


@pytest.fixture(scope="module")
def built_digits(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A hall with the digits in it, to copy."""

    def write(folder: Path) -> Path:
        return write_digits_catalogue(folder, practice=PRACTICE, portraits=PORTRAITS, held_out=HELD_OUT)

    return build_hall(tmp_path_factory.mktemp("digits-hall"), write=write)


@pytest.fixture
def hall(built_digits: Path, tmp_path: Path) -> Iterator[Hall]:
    """A hall of its own for each test."""
    with open_hall(built_digits, tmp_path / "hall") as hall:
        yield hall


def enter(hall: Hall) -> Visitor:
    visitor = Visitor(hall.app, hall.address)
    name, token = hall.sign_in(cast.LEARNER)
    visitor.client.set_cookie(name, token, domain="127.0.0.1")
    return visitor


def plan(visitor: Visitor) -> dict[str, Any]:
    headers = {"X-CSRFToken": visitor.token(), "Referer": f"{visitor.base}/"}
    planned = visitor.client.post("/drills", json={}, headers=headers, base_url=visitor.base)
    packet = visitor.get(planned.get_json()["packet_url"]).get_json()
    assert isinstance(packet, dict)
    return packet


def send(visitor: Visitor, hall: Hall, packet: dict[str, Any], *, misses: set[int]) -> int:
    """Answer the whole packet, wrongly for the pairs of `misses`, and return how many answers that was."""
    answers = []
    for one in packet["rounds"]:
        for showing in one["showings"]:
            for ask in showing["asks"]:
                wrong = next(choice["key"] for choice in ask["choices"] if choice["key"] != ask["answer_key"])
                said = wrong if one["pair"] in misses and ask["kind"] == "form" else ask["answer_key"]
                sure = "probable" if ask["kind"] == "form" else None
                answers.append(
                    {"id": str(uuid.uuid4()), "showing": showing["showing"], "ask": ask["place"], "said": said, "sure": sure}
                    | {"seconds": 4, "at": hall.clock.now.isoformat()}
                )
    headers = {"X-CSRFToken": visitor.token(), "Referer": f"{visitor.base}/"}
    stored = visitor.client.post("/drills/answers", json={"answers": answers}, headers=headers, base_url=visitor.base).get_json()
    assert stored["refused"] == []
    return len(stored["stored"])


def test_a_week_of_drills_over_http_brings_the_weak_pair_to_the_front(hall: Hall) -> None:
    answers = 0
    weak: set[int] = set()
    for day in range(7):
        visitor = enter(hall)
        packet = plan(visitor)
        if not weak:
            weak = {packet["rounds"][0]["pair"]}
        for one in packet["rounds"]:
            for showing in one["showings"]:
                served = visitor.get(showing["picture"]["url"])
                assert (served.status_code, served.mimetype) == (200, "image/webp")
        if day >= 4:
            third = packet["rounds"][: max(1, len(packet["rounds"]) // 3)]
            assert weak & {one["pair"] for one in third}
        answers += send(visitor, hall, packet, misses=weak)
        hall.clock.pass_by(days=1)
    with hall.store.look() as db:
        assert db.scalar(select(func.count()).select_from(AnswerRow)) == answers
        outcomes = {row.pair_id: row.last_outcome for row in db.scalars(select(MemoryRow))}
        rounds = db.scalar(select(func.count()).select_from(RoundRow))
    assert {pair for pair, outcome in outcomes.items() if outcome == "missed"} == weak
    assert len(outcomes) == 9, "every pair of the set was met within the week"
    assert rounds
    page = enter(hall).get("/standing").text
    assert "You take" in page or "You took" in page or "You mix them up" in page


def test_held_out_digits_are_neither_drilled_nor_served_to_a_learner(hall: Hall) -> None:
    visitor = enter(hall)
    send(visitor, hall, plan(visitor), misses=set())
    with hall.store.look() as db:
        query = select(PictureRow.use).join(ShowingRow, ShowingRow.picture_id == PictureRow.id)
        assert set(db.scalars(query)) == {Use.PRACTICE.value}
        held_out = db.execute(
            select(PictureRow.public_id, FileRow.recipe)
            .join(FileRow, FileRow.picture_id == PictureRow.id)
            .where(PictureRow.use == Use.HELD_OUT.value, FileRow.size_name != "original")
        ).all()
    assert len(held_out) >= 10 * HELD_OUT
    assert {visitor.get(f"/pictures/{public_id}/{recipe}").status_code for public_id, recipe in held_out} == {404}


def answer_one(page: Page) -> None:
    """Meet the pair if it is new, answer whatever is asked with the first rung, and go on."""
    page.wait_for_selector("[data-begin]:visible, [data-panel=asked]:visible")
    if page.locator("[data-begin]").is_visible():
        page.locator("[data-begin]").click()
    page.locator("[data-panel=asked] .rung >> visible=true").first.click()
    page.wait_for_selector("[data-panel=answered]")
    page.wait_for_timeout(350)  # the button that goes on is deaf for a moment, against a second tap
    page.locator("[data-next]").click()


def test_ten_answers_in_a_real_browser_are_found_in_the_database(hall: Hall, browser: Browser) -> None:
    context = hall.context(browser, cast.LEARNER, viewport=PHONE)
    page = context.new_page()
    page.goto("/")
    page.get_by_role("button", name="Start today's drill").click()
    for _ in range(10):
        answer_one(page)
    page.wait_for_function("() => true")
    for _ in range(50):
        with hall.store.look() as db:
            stored = db.scalars(select(AnswerRow)).all()
        if len(stored) == 10:
            break
        page.wait_for_timeout(100)
    assert len(stored) == 10
    assert {row.account_id for row in stored} == {hall.people[cast.LEARNER].id}
    assert all(0 <= row.seconds < 60 for row in stored)
    credit = page.locator(".credit").first.text_content() or ""
    assert "scikit-learn" in credit or "CC BY 4.0" in credit
    context.close()
