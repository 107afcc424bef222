"""The picture route and the room of one's own pictures, over HTTP."""

from __future__ import annotations

import re
from io import BytesIO
from typing import Any

import pytest
from sqlalchemy import select
from werkzeug.test import TestResponse

from drillhall.core.cautions import cautions
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from tests.cast import LEARNER, STRANGER
from tests.pictures.drawn import accept, add_catalogue, add_form, noise, opened, saved, scene
from tests.visits import Hall, Visitor

SOURCE = saved(scene(900, 600))


@pytest.fixture
def form_id(hall: Hall) -> int:
    with hall.store.work() as db:
        form_id = add_form(db, "Mudpiper")
        add_catalogue(db, form_ids=(form_id,))
    return form_id


@pytest.fixture
def learner(hall: Hall) -> Visitor:
    return hall.enter(LEARNER)


def send(visitor: Visitor, form_id: int | str, *sources: bytes, **fields: Any) -> TestResponse:
    told = {"form": form_id, "medium": "Photograph", "orientation": "", "typical": "yes", "undisturbed": "yes", "licence": ""} | fields
    told = {name: value for name, value in told.items() if value is not None}
    told["file"] = [(BytesIO(source), f"C:\\birds\\..\\{place}.exe") for place, source in enumerate(sources)]
    return visitor.post("/my-pictures", told, content_type="multipart/form-data")


def kept(hall: Hall) -> tuple[int, list[str]]:
    with hall.store.look() as db:
        pictures = len(db.scalars(select(PictureRow)).all())
    folder = hall.folder / "pictures"
    return pictures, [path.name for path in folder.rglob("*") if path.is_file()] if folder.exists() else []


def address(hall: Hall, size: str = "large") -> str:
    with hall.store.look() as db:
        found = db.execute(
            select(PictureRow.public_id, FileRow.recipe)
            .join(FileRow, FileRow.picture_id == PictureRow.id)
            .where(FileRow.size_name == size)
            .order_by(PictureRow.id.desc())
        ).first()
    assert found
    return f"/pictures/{found[0]}/{found[1]}"


def test_a_picture_is_added_listed_and_sent(hall: Hall, learner: Visitor, form_id: int) -> None:
    answer = send(learner, form_id, SOURCE, orientation="lateral")
    assert (answer.status_code, answer.location) == (303, "/my-pictures?added=1")
    page = learner.get(answer.location).text
    assert "Mudpiper" in page
    assert 'accept="image/jpeg,image/png,image/webp,image/avif,image/tiff,image/gif,image/heic"' in page
    assert "Only you see it. No licence is given" in page
    assert address(hall, "small") in page
    sent = learner.get(address(hall))
    assert sent.status_code == 200
    assert opened(sent.data).size == (900, 600)


def test_the_picture_is_sent_as_what_it_is_and_nothing_may_run_in_it(hall: Hall, learner: Visitor, form_id: int) -> None:
    send(learner, form_id, SOURCE)
    sent = learner.get(address(hall))
    assert sent.headers["Content-Type"] == "image/webp"
    assert sent.headers["Cache-Control"] == "private, max-age=604800"
    assert sent.headers["X-Content-Type-Options"] == "nosniff"
    assert sent.headers["Content-Disposition"] == "inline"
    assert sent.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert sent.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert "Cookie" in sent.headers["Vary"]


def test_a_picture_that_the_browser_has_is_not_sent_again_but_asked_for_again(hall: Hall, learner: Visitor, form_id: int) -> None:
    send(learner, form_id, SOURCE)
    etag = {"If-None-Match": learner.get(address(hall)).headers["ETag"]}
    again = learner.get(address(hall), headers=etag)
    assert (again.status_code, again.data) == (304, b"")
    assert hall.enter(STRANGER).get(address(hall), headers=etag).status_code == 404


def test_a_visitor_is_sent_to_sign_in_and_another_learner_finds_nothing(hall: Hall, learner: Visitor, form_id: int) -> None:
    send(learner, form_id, SOURCE, licence="CC-BY-4.0", creator="Ada", credit="Ada")
    assert hall.visitor().get(address(hall)).status_code == 303
    stranger = hall.enter(STRANGER)
    assert stranger.get(address(hall)).status_code == 404
    assert address(hall) not in stranger.get("/my-pictures").text
    with hall.store.work() as db:
        accept(db, add_catalogue(db, key="waders"), db.scalars(select(PictureRow.id)).one())
    assert stranger.get(address(hall)).status_code == 200
    assert learner.get(address(hall, "original")).status_code == 404


def test_the_file_as_it_came_is_kept_under_a_name_of_the_hall(hall: Hall, learner: Visitor, form_id: int) -> None:
    send(learner, form_id, SOURCE)
    names = kept(hall)[1]
    assert len(names) == 3
    assert [name for name in names if not re.fullmatch(r"[0-9a-f]{32}\.webp|original\.jpg", name)] == []


def test_several_pictures_come_with_the_same_rights(hall: Hall, learner: Visitor, form_id: int) -> None:
    rights = {"licence": "in-this-hall", "creator": "Ada Mudd", "credit": "Ada Mudd"}
    answer = send(learner, form_id, SOURCE, saved(noise(300, 300)), **rights)
    assert answer.location == "/my-pictures?added=2"
    with hall.store.look() as db:
        rows = db.scalars(select(RightsRow)).all()
        assert [(row.licence, row.agreed, row.may_group, row.may_public) for row in rows] == [
            ("LicenseRef-all-rights-reserved", "group", True, False)
        ] * 2


def test_one_bad_picture_among_several_keeps_none(hall: Hall, learner: Visitor, form_id: int) -> None:
    answer = send(learner, form_id, SOURCE, SOURCE[:300], creator="Ada <b>")
    assert answer.status_code == 422
    assert "Picture 2 of 2: The file is damaged" in answer.text
    assert 'value="Ada &lt;b&gt;"' in answer.text
    assert "Choose them again" in answer.text
    assert kept(hall) == (0, [])


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"undisturbed": None}, "Tick that nothing was disturbed"),
        ({"form": ""}, "Choose what the picture shows."),
        ({"form": "12x"}, "What it shows: choose one of those shown"),
        ({"form": "987654"}, "Choose what the picture shows from the list."),
        ({"orientation": "sideways"}, "from where it is seen"),
        ({"medium": "Film"}, "a photograph or a drawing"),
        ({"licence": "CC-BY-9.0"}, "Choose from the list what others may do with it."),
        ({"licence": "LicenseRef-used-with-permission", "creator": "x", "credit": "x"}, "Say who gave the permission."),
        ({"licence": "CC-BY-4.0", "creator": " ", "credit": "x"}, "Say who made the picture"),
        ({"licence": "CC-BY-4.0", "creator": "x", "credit": ""}, "how its maker wants to be credited"),
        ({"creator": "x" * 201}, "That is too long"),
        ({"alt": "x\0"}, "cannot be stored"),
    ],
)
def test_what_is_wrong_is_said_beside_the_same_form_and_nothing_is_kept(
    hall: Hall, learner: Visitor, form_id: int, fields: dict[str, Any], told: str
) -> None:
    answer = send(learner, form_id, SOURCE, **fields)
    assert answer.status_code == 422
    assert told in answer.text
    assert kept(hall) == (0, [])


def test_no_file_and_too_many_files_are_told(hall: Hall, learner: Visitor, form_id: int) -> None:
    assert "Choose a picture from your device." in send(learner, form_id).text
    assert "Choose at most 12 pictures at a time." in send(learner, form_id, *[b"x"] * 13).text
    assert kept(hall) == (0, [])


def test_the_very_same_picture_twice_is_told(hall: Hall, learner: Visitor, form_id: int) -> None:
    assert "already" in send(learner, form_id, SOURCE, SOURCE).text
    assert kept(hall) == (0, [])


def test_what_is_unsure_is_kept_and_says_so(hall: Hall, learner: Visitor, form_id: int) -> None:
    assert form_id
    send(learner, "unsure", SOURCE)  # type: ignore[arg-type] - the choice beside the forms
    assert "Which form is not said" in learner.get("/my-pictures").text


def test_what_is_to_be_said_later_is_kept_and_the_grid_asks_for_it(hall: Hall, learner: Visitor, form_id: int) -> None:
    assert form_id
    answer = send(learner, "later", SOURCE, saved(noise(300, 300)))  # type: ignore[arg-type] - the choice beside the forms
    assert (answer.status_code, answer.location) == (303, "/my-pictures/describe?added=2")
    page = learner.get(answer.location).text
    assert "Here they are." in page
    assert page.count("Not described yet") == 2
    with hall.store.look() as db:
        assert db.scalars(select(PictureRow.described_at)).all() == [None, None]


def test_withdrawing_takes_it_from_the_page_and_from_the_route(hall: Hall, learner: Visitor, form_id: int) -> None:
    send(learner, form_id, SOURCE)
    path = address(hall)
    public_id = path.split("/")[2]
    assert hall.enter(STRANGER).post(f"/my-pictures/{public_id}/retire").status_code == 404
    assert learner.get(path).status_code == 200
    answer = learner.post(f"/my-pictures/{public_id}/retire")
    assert (answer.status_code, answer.location) == (303, f"/my-pictures?withdrawn={public_id}")
    assert learner.get(path).status_code == 404
    assert path not in learner.get("/my-pictures").text
    assert learner.post(f"/my-pictures/{public_id}/retire").status_code == 404


def test_the_cautions_stand_where_pictures_are_added(learner: Visitor, form_id: int) -> None:
    assert form_id
    page = learner.get("/my-pictures").text
    assert all(sentence in page for sentence in cautions("bird", "upload"))


def test_a_page_number_that_is_none_is_the_first(learner: Visitor) -> None:
    for number in ("x", "-4", "9" * 30):
        assert learner.get(f"/my-pictures?page={number}").status_code == 200


def test_the_same_sent_again_is_not_said_to_be_added(hall: Hall, learner: Visitor, form_id: int) -> None:
    assert form_id
    assert send(learner, "later", SOURCE).location == "/my-pictures/describe?added=1"
    again = send(learner, "later", SOURCE)
    assert again.location == "/my-pictures/describe?already=1"
    page = learner.get(again.location).text
    assert "All of them were here already and not added again." in page
    assert "Here they are." not in page
    assert kept(hall)[0] == 1


def test_the_page_says_how_much_goes_in_one_request(hall: Hall, learner: Visitor) -> None:
    most = hall.app.config["MAX_CONTENT_LENGTH"] // 2**20
    assert f"all together up to {most} MB" in learner.get("/my-pictures").text
