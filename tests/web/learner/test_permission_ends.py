"""A permission that ends takes its pictures away by itself, with nothing done but the passing of days; the answers stay."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from sqlalchemy import select

from drillhall.core.licences import WITH_PERMISSION
from drillhall.core.rights import Purpose, Rights
from drillhall.people.accounts import list_accounts
from drillhall.pictures.ingest import rights_row
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.models.practice import AnswerRow, TallyRow
from tests import cast
from tests.practice.small_hall import SmallHall
from tests.visits import Hall, Visitor
from tests.web.learner.test_drill import answers_to, begin, count, send

LAST_DAY = date(2031, 3, 5)
PERMITTED = Rights(
    creator="Wilhelmine Sallow",
    licence=WITH_PERMISSION,
    credit="Wilhelmine Sallow",
    agreed=frozenset({Purpose.GROUP}),
    until=LAST_DAY,
    granted_by="Wilhelmine Sallow",
    granted_on=date(2031, 1, 1),
)
CONTENT = b"RIFF\x00\x00\x00\x00WEBP"


@pytest.fixture
def permitted(hall: Hall, small: SmallHall) -> list[str]:
    """Every practice picture rests on a permission of three days; returns their names."""
    with hall.store.work() as db:
        pictures = db.scalars(select(PictureRow).where(PictureRow.use == "practice")).all()
        for picture in pictures:
            picture.described_at = hall.clock()
            said = rights_row(PERMITTED)
            said.picture_id = picture.id
            db.merge(said)
            file = db.scalars(select(FileRow).where(FileRow.picture_id == picture.id)).one()
            FolderStorage(hall.folder / "pictures").put(file.storage_key, CONTENT)
        return [picture.public_id for picture in pictures]


def later(hall: Hall, days: int) -> Visitor:
    """Let days pass, after which the learner must sign in anew."""
    hall.clock.move(days=days)
    return hall.enter(cast.LEARNER, known=True)


def address(hall: Hall, public_id: str) -> str:
    with hall.store.look() as db:
        query = select(FileRow.recipe).join(PictureRow, PictureRow.id == FileRow.picture_id).where(PictureRow.public_id == public_id)
        return f"/pictures/{public_id}/{db.scalars(query).one()}"


def shown_in(packet: dict[str, Any]) -> list[str]:
    return [showing["picture"]["id"] for one in packet["rounds"] for showing in one["showings"]]


def test_until_its_last_day_it_is_drilled_and_sent_no_longer_than_it_holds(hall: Hall, learner: Visitor, permitted: list[str]) -> None:
    packet = begin(learner)
    assert set(shown_in(packet)) <= set(permitted)
    sent = learner.get(address(hall, shown_in(packet)[0]))
    assert sent.data == CONTENT
    assert sent.headers["Cache-Control"] == "private, max-age=172800"
    learner = later(hall, 2)
    assert learner.get(address(hall, permitted[0])).status_code == 200
    assert learner.get(address(hall, permitted[0])).headers["Cache-Control"] == "private, max-age=0"


def test_after_it_the_picture_is_gone_and_the_answers_count(hall: Hall, learner: Visitor, small: SmallHall, permitted: list[str]) -> None:
    packet = begin(learner)
    before = shown_in(packet)
    given = answers_to(packet, hall.clock().isoformat())
    first_round = {showing["showing"] for showing in packet["rounds"][0]["showings"]}
    told = send(learner, [answer for answer in given if answer["showing"] in first_round]).get_json()
    assert told["withdrawn"] == []
    answered = count(hall, AnswerRow)
    assert answered > 0
    assert "Wilhelmine Sallow" in learner.get(f"/pair-sets/{small.pair_set}/credits").text

    learner = later(hall, 3)
    with hall.store.look() as db:
        tallied = sum(db.scalars(select(TallyRow.count)))
        assert db.scalars(select(RightsRow.may_group).join(PictureRow).where(PictureRow.use == "practice")).first() is True
    assert tallied > 0
    assert learner.get(address(hall, before[0])).status_code == 404
    late = answers_to(packet, hall.clock().isoformat())
    last_round = {showing["showing"] for showing in packet["rounds"][-1]["showings"]}
    told = send(learner, [answer for answer in late if answer["showing"] in last_round]).get_json()
    assert set(told["withdrawn"]) == set(before)
    again = learner.get(f"/drills/{packet['drill']}").get_json()
    assert set(again["withdrawn"]) == set(before)
    # What has been answered stays in the packet, so that its round is known; nothing is left to be asked.
    answered_showings = first_round | last_round
    assert {showing["showing"] for one in again["rounds"] for showing in one["showings"]} <= answered_showings
    assert "Wilhelmine Sallow" not in learner.get(f"/pair-sets/{small.pair_set}/credits").text
    assert count(hall, AnswerRow) >= answered
    with hall.store.look() as db:
        assert sum(db.scalars(select(TallyRow.count))) >= tallied


def test_after_it_no_drill_is_planned_with_it(hall: Hall, learner: Visitor, permitted: list[str]) -> None:
    learner = later(hall, 3)
    headers = {"X-CSRFToken": learner.token(), "Referer": learner.base}
    planned = learner.client.post("/drills", json={}, headers=headers, base_url=learner.base)
    assert planned.status_code == 409
    assert "Your pairs have no pictures that you may be shown." in planned.get_data(as_text=True)


def test_whoever_added_it_loses_it_as_well(hall: Hall, learner: Visitor, permitted: list[str]) -> None:
    with hall.store.work() as db:
        owner = next(one.id for one in list_accounts(db) if one.name == cast.LEARNER.name)
        for picture in db.scalars(select(PictureRow)):
            picture.owner_id = owner
    assert learner.get(address(hall, permitted[0])).status_code == 200
    learner = later(hall, 3)
    assert learner.get(address(hall, permitted[0])).status_code == 404
    assert "The permission ended on 2031-03-05" in learner.get(f"/my-pictures/{permitted[0]}/rights").text
