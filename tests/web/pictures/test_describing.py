"""The grid over HTTP: what is offered, what is typed, and what comes of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pyexiv2
import pytest
from sqlalchemy import select

from drillhall.store.models.pictures import RightsRow
from tests.cast import LEARNER, STRANGER
from tests.pictures.drawn import add_catalogue, add_form, noise, saved, scene
from tests.visits import Hall, Visitor
from tests.web.pictures.sent import rows, sent_ids

SOURCE, OTHER = saved(scene(900, 600)), saved(noise(300, 300))


@pytest.fixture
def form_ids(hall: Hall) -> tuple[int, int]:
    with hall.store.work() as db:
        ids = (add_form(db, "Mudpiper", life_stage="adult"), add_form(db, "Long Stilt"))
        add_catalogue(db, form_ids=ids)
    return ids


@pytest.fixture
def learner(hall: Hall, form_ids: tuple[int, int]) -> Visitor:
    assert form_ids
    return hall.enter(LEARNER)


def signed(folder: Path, maker: str, *, source: bytes = SOURCE, licence: str = "") -> bytes:
    file = folder / "signed.jpg"
    file.write_bytes(source)
    with pyexiv2.Image(str(file)) as picture:
        picture.modify_xmp({"Xmp.dc.creator": [maker]} | ({"Xmp.xmpRights.WebStatement": licence} if licence else {}))
    return file.read_bytes()


def test_an_empty_grid_says_where_to_begin(learner: Visitor) -> None:
    page = learner.get("/my-pictures/describe")
    assert page.status_code == 200
    assert "You have no pictures here yet." in page.text


def test_those_that_wait_come_first_and_then_all(hall: Hall, learner: Visitor, form_ids: tuple[int, int]) -> None:
    one, other = sent_ids(hall, learner, SOURCE, OTHER)
    learner.post("/my-pictures/describe", {"picture": one, "form": form_ids[0]})
    page = learner.get("/my-pictures/describe").text
    assert (one in page, other in page) == (False, True)
    assert one in learner.get("/my-pictures/describe?show=all").text
    answer = learner.post("/my-pictures/describe", {"picture": other, "form": "unsure"})
    assert answer.location == "/my-pictures/describe?described=1"
    page = learner.get(answer.location).text
    assert "None waits for a word any more." in page
    assert "To today&#39;s drill" in page or "To today's drill" in page
    assert other in page


def test_pictures_of_a_form_that_no_set_drills_are_said_to_lie_idle(hall: Hall, learner: Visitor, form_ids: tuple[int, int]) -> None:
    (one,) = sent_ids(hall, learner, SOURCE)
    answer = learner.post("/my-pictures/describe", {"picture": one, "form": form_ids[1]})
    page = learner.get(answer.location).text
    assert "Not drilled yet." in page
    assert "no pair set of this hall holds this form" in page
    assert "/shelf" in page


def test_all_fields_reach_the_pictures(hall: Hall, learner: Visitor, form_ids: tuple[int, int]) -> None:
    ids = sent_ids(hall, learner, SOURCE, OTHER)
    said = {
        "form": form_ids[1],
        "sex": "female",
        "life_stage": "adult",
        "plumage": "worn",
        "variant": "pale",
        "pose": "feeding",
        "distance": "far",
        "orientation": "left",
        "setting": "mud",
        "typical": "no",
        "several": "yes",
        "use": "portrait",
        "medium": "Drawing",
        "cluster": "pond",
        "taken_on": "2031-01-02",
        "alt": "Two on mud",
    }
    assert learner.post("/my-pictures/describe", {"picture": ids, **said}).status_code == 303
    for row in rows(hall):
        kept = {name: getattr(row, name) for name in said if hasattr(row, name)} | {"taken_on": str(row.taken_on)}
        assert kept == {name: word for name, word in said.items() if name != "form"} | {"typical": False, "several": True}
        assert row.form_id == form_ids[1]
    learner.post("/my-pictures/describe", {"picture": ids[0], "plumage": "-", "pose": "-"})
    row = rows(hall)[0]
    assert (row.plumage, row.pose, row.variant) == ("", "", "pale")


def test_one_of_two_is_shown_as_that(hall: Hall, learner: Visitor, form_ids: tuple[int, int]) -> None:
    (one,) = sent_ids(hall, learner, SOURCE)
    learner.post("/my-pictures/describe", {"picture": one, "form": form_ids[0], "or_form": form_ids[1]})
    page = learner.get("/my-pictures?show=not-drilled").text
    assert "Mudpiper, adult or Long Stilt" in page
    assert "which of two forms it shows is open" in page


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"picture": []}, "Choose at least one picture."),
        ({"form": ""}, "Say something of the pictures"),
        ({"form": "12x"}, "What they show: choose one of those shown"),
        ({"form": "unsure", "or_form": "1"}, "Choose the first of the two forms"),
        ({"form": "", "or_form": "1"}, "Choose the first of the two forms as well."),
        ({"form": "1", "life_stage": "juvenile"}, "the life stage says “juvenile”"),
        ({"use": "wall"}, "what the pictures are for"),
        ({"taken_on": "yesterday"}, "write it as 2031-05-17"),
        ({"taken_on": "2999-01-01"}, "lies ahead"),
        ({"pose": "x" * 41}, "That is too long"),
        ({"distance": "a mile"}, "from how far off it is seen"),
        ({"with_rights": "yes", "licence": "CC-BY-4.0", "creator": " ", "credit": "x"}, "Say who made the picture"),
        ({"licence": "CC-BY-4.0", "creator": "x", "credit": "x"}, "Tick that you say it of those chosen as well."),
        ({"with_rights": "yes", "as_files_say": "yes"}, "Tick one of the two"),
        ({"with_rights": "yes", "licence": "by-address", "licence_address": "https://licences.example/mine"}, "does not know that licence"),
    ],
)
def test_what_is_wrong_stands_beside_the_same_grid_with_all_that_was_typed(
    hall: Hall, learner: Visitor, fields: dict[str, Any], told: str
) -> None:
    ids = sent_ids(hall, learner, SOURCE, OTHER)
    answer = learner.post("/my-pictures/describe?show=all", {"picture": ids[0], "form": "2", "setting": ""} | fields)
    assert answer.status_code == 422
    assert told in answer.text
    assert answer.text.count("checked") >= (1 if fields.get("picture") != [] else 0)
    assert {(row.form_id, row.described_at) for row in rows(hall)} == {(None, None)}


def test_somebody_elses_picture_cannot_be_described(hall: Hall, learner: Visitor, form_ids: tuple[int, int]) -> None:
    (one,) = sent_ids(hall, learner, SOURCE)
    answer = hall.enter(STRANGER).post("/my-pictures/describe", {"picture": one, "form": form_ids[0]})
    assert answer.status_code == 409
    assert rows(hall)[0].form_id is None


def test_what_the_file_says_is_offered_and_taken_over_only_when_said(hall: Hall, learner: Visitor, tmp_path: Path) -> None:
    by = "https://creativecommons.org/licenses/by/4.0/"
    (one,) = sent_ids(hall, learner, signed(tmp_path, "Wren Saltmarsh", licence=by))
    page = learner.get("/my-pictures/describe").text
    assert "The file says: Wren Saltmarsh; CC-BY-4.0." in page
    assert "What stands here is what the files say of themselves." in page
    assert 'value="Wren Saltmarsh"' in page
    offered = {"creator": "Wren Saltmarsh", "licence": "CC-BY-4.0", "offered_licence": "CC-BY-4.0"}
    assert learner.post("/my-pictures/describe", {"picture": one, "form": "2"} | offered).status_code == 303
    assert _makers(hall) == [("", "")]
    rights = {"with_rights": "yes", "creator": "Wren Saltmarsh", "credit": "Wren", "licence": "CC-BY-4.0", "understood": "yes"}
    learner.post("/my-pictures/describe", {"picture": one} | rights)
    assert _makers(hall) == [("Wren Saltmarsh", "CC-BY-4.0")]


def test_what_comes_of_rights_is_said_in_the_grid_before_anything_changes(hall: Hall, learner: Visitor) -> None:
    ids = sent_ids(hall, learner, SOURCE, OTHER)
    rights = {"picture": ids, "with_rights": "yes", "creator": "Ada Mudd", "credit": "Ada Mudd"}
    answer = learner.post("/my-pictures/describe", rights | {"licence": "CC-BY-4.0", "form": "1"})
    assert answer.status_code == 422
    assert answer.text.count("Whoever gets a copy under CC BY 4.0 may use it so for good") == 1
    assert 'name="understood"' in answer.text
    assert [row.form_id for row in rows(hall)] == [None, None]
    assert _makers(hall) == [("", "")] * 2
    assert learner.post("/my-pictures/describe", rights | {"licence": "CC-BY-4.0", "understood": "yes"}).status_code == 303
    narrowed = learner.post("/my-pictures/describe?show=all", rights | {"licence": "only-you"})
    assert narrowed.status_code == 422
    assert "Nobody but you is shown it from now on." in narrowed.text
    assert _makers(hall) == [("Ada Mudd", "CC-BY-4.0")] * 2


@pytest.mark.parametrize("licence", ["only-you", "in-this-hall"])
def test_rights_that_give_nothing_away_for_good_are_said_in_one_step(hall: Hall, learner: Visitor, licence: str) -> None:
    (one,) = sent_ids(hall, learner, SOURCE)
    rights = {"picture": one, "form": "1", "with_rights": "yes", "creator": "Ada Mudd", "credit": "Ada Mudd"}
    assert learner.post("/my-pictures/describe", rights | {"licence": licence}).status_code == 303
    assert _makers(hall) == [("Ada Mudd", "LicenseRef-all-rights-reserved")]


def test_what_each_file_says_is_asked_about_like_what_is_typed(hall: Hall, learner: Visitor, tmp_path: Path) -> None:
    by = "https://creativecommons.org/licenses/by/4.0/"
    ids = sent_ids(hall, learner, signed(tmp_path, "Wren Saltmarsh", licence=by), signed(tmp_path, "Ada Mudd", source=OTHER))
    said = {"picture": ids, "as_files_say": "yes"}
    assert learner.post("/my-pictures/describe", said).status_code == 422
    assert _makers(hall) == [("", "")] * 2
    assert learner.post("/my-pictures/describe", said | {"understood": "yes"}).status_code == 303
    assert sorted(_makers(hall)) == [("Ada Mudd", ""), ("Wren Saltmarsh", "CC-BY-4.0")]


def test_the_page_of_rights_offers_what_the_file_says_until_something_is_said(hall: Hall, learner: Visitor, tmp_path: Path) -> None:
    (one,) = sent_ids(hall, learner, signed(tmp_path, "Wren Saltmarsh", licence="https://creativecommons.org/licenses/by/4.0/"))
    page = learner.get(f"/my-pictures/{one}/rights").text
    assert 'value="Wren Saltmarsh"' in page
    assert 'value="CC-BY-4.0" checked' in page
    assert _makers(hall) == [("", "")]
    said = {"creator": "Ada Mudd", "credit": "Ada Mudd", "licence": "only-you"}
    assert learner.post(f"/my-pictures/{one}/rights", said).status_code == 303
    page = learner.get(f"/my-pictures/{one}/rights").text
    assert 'value="Ada Mudd"' in page
    assert 'value="CC-BY-4.0" checked' not in page


def test_where_files_name_different_makers_none_is_offered(hall: Hall, learner: Visitor, tmp_path: Path) -> None:
    sent_ids(hall, learner, signed(tmp_path, "Wren Saltmarsh"), signed(tmp_path, "Ada Mudd", source=OTHER))
    page = learner.get("/my-pictures/describe").text
    assert (
        "They name as maker: Ada Mudd (1), Wren Saltmarsh (1)." in page or "They name as maker: Wren Saltmarsh (1), Ada Mudd (1)." in page
    )
    assert 'value="Wren Saltmarsh"' not in page
    assert 'value="Ada Mudd"' not in page
    ids = [row.public_id for row in rows(hall)]
    assert learner.post("/my-pictures/describe", {"picture": ids, "as_files_say": "yes"}).status_code == 303
    assert sorted(_makers(hall)) == [("Ada Mudd", ""), ("Wren Saltmarsh", "")]


def test_addresses_typed_by_hand_open_something(learner: Visitor) -> None:
    for asked in ("show=nothing", "page=-1", "page=x", "form=x", "form=999", "picture=" + "x" * 99, "described=<b>&along=<b>"):
        answer = learner.get(f"/my-pictures/describe?{asked}")
        assert answer.status_code == 200
        assert "<b>&along" not in answer.text


def _makers(hall: Hall) -> list[tuple[str, str]]:
    with hall.store.look() as db:
        return [(row.creator, row.licence) for row in db.scalars(select(RightsRow))]
