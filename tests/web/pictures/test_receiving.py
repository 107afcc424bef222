"""Sending pictures one by one: each kept at once, each with its own answer, and nothing twice."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import pyexiv2
import pytest
from PIL import Image
from sqlalchemy import select

from drillhall.people import limits
from drillhall.store.models.pictures import FileRow, RightsRow
from tests.cast import LEARNER, STRANGER
from tests.pictures.drawn import noise, saved, scene
from tests.visits import Hall, Visitor
from tests.web.pictures.sent import ask_known, rows, send_one

SOURCE, OTHER = saved(scene(900, 600)), saved(noise(300, 300))


@pytest.fixture
def learner(hall: Hall) -> Visitor:
    return hall.enter(LEARNER)


def test_a_sent_picture_is_kept_for_her_alone_with_nothing_said(hall: Hall, learner: Visitor) -> None:
    answer = send_one(learner, SOURCE)
    row = rows(hall)[0]
    assert answer.get_json() == {"already": False, "page": f"/my-pictures/{row.public_id}"}
    assert (row.form_id, row.described_at, row.use, row.alt) == (None, None, "practice", "Photograph for this question.")
    with hall.store.look() as db:
        assert [(one.licence, one.creator, one.may_group) for one in db.scalars(select(RightsRow))] == [("", "", False)]
    stranger = hall.enter(STRANGER)
    page = learner.get("/my-pictures").text
    assert "1 waits for a word" in page
    assert "Only you see it: nothing is said of it yet." in page
    assert row.public_id not in stranger.get("/my-pictures").text
    assert stranger.get(f"/my-pictures/{row.public_id}").status_code == 404


def test_the_same_bytes_again_are_there_already_and_of_two_people_each_has_her_own(hall: Hall, learner: Visitor) -> None:
    first = send_one(learner, SOURCE).get_json()
    assert send_one(learner, SOURCE, "renamed.jpg").get_json() == {"already": True, "page": first["page"]}
    stranger = hall.enter(STRANGER)
    theirs = send_one(stranger, SOURCE).get_json()
    assert theirs["already"] is False
    assert theirs["page"] != first["page"]
    assert len({row.owner_id for row in rows(hall)}) == len(rows(hall)) == 2


def test_two_owners_of_the_same_bytes_give_them_rights_of_their_own(hall: Hall, learner: Visitor) -> None:
    stranger = hall.enter(STRANGER)
    pages = [send_one(one, SOURCE).get_json()["page"] for one in (learner, stranger)]
    for one, page, licence in ((learner, pages[0], "CC-BY-4.0"), (stranger, pages[1], "CC-BY-NC-ND-4.0")):
        rights = {"with_rights": "yes", "creator": licence, "credit": "x", "licence": licence, "understood": "yes"}
        answer = one.post("/my-pictures/describe", {"picture": page.rpartition("/")[2], "form": "unsure"} | rights)
        assert answer.status_code == 303
    assert "CC BY 4.0" in learner.get(pages[0]).text
    told = stranger.get(pages[1]).text
    assert "CC BY-NC-ND 4.0" in told
    assert "CC BY 4.0" not in told
    assert pages[0] not in told


def test_what_is_known_is_told_to_its_owner_alone(hall: Hall, learner: Visitor) -> None:
    page = send_one(learner, SOURCE).get_json()["page"]
    digests = [hashlib.sha256(source).hexdigest() for source in (SOURCE, OTHER)]
    assert ask_known(learner, {"sha256": digests}).get_json() == {"known": {digests[0]: page}}
    assert ask_known(hall.enter(STRANGER), {"sha256": digests}).get_json() == {"known": {}}


@pytest.mark.parametrize("asked", [None, [], {}, {"sha256": "x"}, {"sha256": [1]}, {"sha256": ["x"] * 1001}, {"sha256": {"a": 1}}])
def test_a_broken_question_is_told_not_tripped_on(learner: Visitor, asked: Any) -> None:
    answer = ask_known(learner, asked)
    assert (answer.status_code, answer.get_json()["field"]) == (422, "sha256")


@pytest.mark.parametrize(
    ("source", "told"),
    [
        (SOURCE[:400], "The file is damaged"),
        (b"", "The file is empty"),
        (b"not a picture", "no picture that the hall can read"),
        (b"\0\0\0\x18ftypheic" + b"\0" * 40, "no picture that the hall can read"),
        (saved(Image.new("1", (20_000, 10_000)), "PNG"), "more than 60 million pixels"),
        (saved(scene(90, 60)), "too small"),
        (saved(scene(300, 200), "GIF", save_all=True, append_images=[noise(300, 200)]), "several frames"),
    ],
)
def test_each_bad_file_has_its_own_sentence_and_leaves_nothing(hall: Hall, learner: Visitor, source: bytes, told: str) -> None:
    answer = send_one(learner, source)
    assert answer.status_code == 422
    assert told in answer.get_json()["sentence"]
    assert answer.get_json()["field"] == "file"
    assert rows(hall) == []
    assert not list((hall.folder / "pictures").rglob("*.*"))


def test_what_was_disturbed_no_file_and_a_visitor_are_refused(hall: Hall, learner: Visitor) -> None:
    told = {"Accept": "application/json", "Referer": f"{learner.base}/"}
    assert "nothing was disturbed" in learner.post("/my-pictures/send", {}, headers=told).get_json()["sentence"]
    empty = learner.post("/my-pictures/send", {"undisturbed": "yes"}, headers=told)
    assert empty.get_json()["sentence"] == "Choose a picture from your device."
    assert send_one(hall.visitor(), SOURCE).status_code == 401
    assert rows(hall) == []


def test_a_generated_picture_is_refused_as_a_photograph(hall: Hall, learner: Visitor, tmp_path: Path) -> None:
    file = tmp_path / "made-up.jpg"
    file.write_bytes(SOURCE)
    with pyexiv2.Image(str(file)) as picture:
        kind = "http://cv.iptc.org/newscodes/digitalsourcetype/trainedAlgorithmicMedia"
        picture.modify_xmp({"Xmp.iptcExt.DigitalSourceType": kind})
    answer = send_one(learner, file.read_bytes())
    assert answer.status_code == 422
    assert "a program generated it (trainedAlgorithmicMedia)" in answer.get_json()["sentence"]
    assert rows(hall) == []


def test_too_many_in_an_hour_are_told_when_to_go_on(hall: Hall, learner: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    few = limits.Limit("send picture", limits.SEND_PICTURE.what, 1, limits.SEND_PICTURE.window)
    monkeypatch.setattr(limits, "SEND_PICTURE", few)
    assert send_one(learner, SOURCE).status_code == 200
    answer = send_one(learner, OTHER)
    assert answer.status_code == 429
    assert "Too many tries to send pictures. Try again in" in answer.get_json()["sentence"]
    assert int(answer.headers["Retry-After"]) > 0
    hall.clock.move(hours=1)
    assert send_one(learner, OTHER).status_code == 200
    assert len(rows(hall)) == 2


def test_the_file_as_it_came_is_kept_by_setting_and_goes_when_she_says_so(hall: Hall, learner: Visitor) -> None:
    wishes = {"zone": "UTC", "minutes_a_day": "10", "target_recall": "90", "new_a_day": "5", "round_length": "", "colour_vision": ""}
    send_one(learner, SOURCE)
    assert _sizes(hall) == ["large", "original", "small"]
    assert "Keep the file as it came" in learner.get("/settings").text
    assert learner.post("/settings", wishes).status_code == 303
    send_one(learner, OTHER)
    assert sorted(_sizes(hall)).count("original") == 1
    page = learner.get("/settings").text
    assert "Of 1 of your pictures one is here still" in page
    assert "the file itself is kept" not in learner.get("/my-pictures").text
    assert learner.post("/my-pictures/originals/delete", {"for_good": "yes"}).status_code == 303
    assert "original" not in _sizes(hall)
    assert not list((hall.folder / "pictures").rglob("original*"))
    assert "is here still" not in learner.get("/settings").text


def _sizes(hall: Hall) -> list[str]:
    with hall.store.look() as db:
        return sorted(db.scalars(select(FileRow.size_name)))
