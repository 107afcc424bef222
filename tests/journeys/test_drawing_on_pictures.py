"""Frames, marks and views from afar over HTTP, without a script: what is typed is kept or refused with the field and the mend."""

from __future__ import annotations

import json
from io import BytesIO

import pytest
from flask.testing import FlaskClient
from PIL import Image

from tests import cast
from tests.browser.sent_pictures import pictures_sent, public_id_of
from tests.hall import Hall

HERS = f"/my-pictures/{public_id_of(1)}"
FRAME = {"left": "25", "top": "25,0", "width": "50", "height": "50.0"}


@pytest.fixture
def client(hall: Hall) -> FlaskClient:
    """The learner's browser in a hall where she has sent pictures, the first of them under CC BY."""
    pictures_sent(hall)
    hall.app.config["WTF_CSRF_ENABLED"] = False
    client = hall.app.test_client()
    client.set_cookie(*hall.sign_in(cast.LEARNER), domain="127.0.0.1")
    return client


def page(client: FlaskClient, path: str) -> str:
    answer = client.get(path, base_url="http://127.0.0.1/")
    assert answer.status_code == 200, answer.status
    return answer.text


def post(client: FlaskClient, path: str, form: dict[str, str]) -> tuple[int, str]:
    answer = client.post(path, data=form, base_url="http://127.0.0.1/")
    return answer.status_code, answer.text if answer.status_code != 303 else answer.location


def test_a_typed_frame_is_kept_and_told(client: FlaskClient) -> None:
    status, where = post(client, f"{HERS}/frame", FRAME)
    assert status == 303
    told = page(client, where)
    assert "Kept." in told
    assert 'value="25.0"' in told
    assert "the cut." in told


def test_a_frame_beyond_the_picture_or_too_small_is_refused(client: FlaskClient) -> None:
    for wrong, words in (
        ({"width": "90"}, "beyond the picture"),
        ({"width": "5", "height": "5"}, "too few"),
        ({"left": "x"}, "must be a number"),
    ):
        status, told = post(client, f"{HERS}/frame", FRAME | wrong)
        assert status == 422
        assert words in told


def test_two_fields_rounded_up_still_lie_on_the_picture(client: FlaskClient) -> None:
    assert post(client, f"{HERS}/frame", FRAME | {"left": "49.6", "width": "50.5"})[0] == 303


def test_it_is_shown_whole_again(client: FlaskClient) -> None:
    post(client, f"{HERS}/frame", FRAME)
    status, where = post(client, f"{HERS}/frame", FRAME | {"whole": "yes"})
    assert status == 303
    assert "shown whole" in page(client, where)


def test_a_mark_is_kept_listed_taken_along_and_taken_away(client: FlaskClient) -> None:
    assert post(client, f"{HERS}/marks", FRAME | {"trait": ""})[0] == 303
    told = page(client, f"{HERS}/marks")
    assert "Which one is meant</b>: 25 % from the left" in told
    table = client.get(f"{HERS}/marks/regions.csv", base_url="http://127.0.0.1/")
    assert "0.250000,0.250000,0.500000,0.500000" in table.text
    assert table.headers["Content-Disposition"] == 'attachment; filename="roi.csv"'
    annotations = client.get(f"{HERS}/marks/annotations.jsonld", base_url="http://127.0.0.1/")
    assert json.loads(annotations.text)["items"][0]["target"]["selector"][0]["value"] == "xywh=pixel:120,90,240,180"
    action = told[told.index(f"{HERS}/marks/") :].split('"')[0]
    assert post(client, action, {})[0] == 303
    assert "No marks" in page(client, f"{HERS}/marks")


@pytest.mark.parametrize(
    ("wrong", "words"),
    [({"left": "80"}, "beyond the picture"), ({"trait": "9999"}, "Choose from the list"), ({"height": ""}, "must be a number")],
)
def test_a_mark_that_is_none_is_refused(client: FlaskClient, wrong: dict[str, str], words: str) -> None:
    status, told = post(client, f"{HERS}/marks", FRAME | {"trait": ""} | wrong)
    assert status == 422
    assert words in told


def test_what_is_left_from_afar_is_said_and_shown(client: FlaskClient) -> None:
    asked = "distance=200&magnification=8&visibility=5&length=500"
    told = page(client, f"{HERS}/far-off?{asked}")
    assert "narrower than 7 mm" in told
    assert "Haze takes a seventh" in told
    seen = client.get(f"{HERS}/far-off/preview?{asked}", base_url="http://127.0.0.1/")
    assert Image.open(BytesIO(seen.data)).size == (480, 360)
    assert seen.headers["Cache-Control"] == "private, max-age=60"


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("distance=0&length=200&magnification=8", "Distance must be"),
        ("distance=x&length=200&magnification=8", "must be a number"),
        ("distance=5&magnification=8", "all three"),
    ],
)
def test_a_view_that_is_none_is_refused(client: FlaskClient, asked: str, words: str) -> None:
    for path in ("far-off", "far-off/preview"):
        answer = client.get(f"{HERS}/{path}?{asked}", base_url="http://127.0.0.1/")
        assert answer.status_code == 422
        assert words in answer.text


def test_a_view_from_afar_is_kept_for_drills(client: FlaskClient) -> None:
    status, where = post(client, f"{HERS}/far-off", {"distance": "200", "magnification": "8", "length": "500", "keep": "far"})
    assert status == 303
    assert "far off" in page(client, where)
    assert post(client, f"{HERS}/far-off", {"distance": "200", "keep": "far"})[0] == 422


def test_another_person_finds_none_of_it(client: FlaskClient, hall: Hall) -> None:
    stranger = hall.app.test_client()
    stranger.set_cookie(*hall.sign_in(cast.STRANGER), domain="127.0.0.1")
    for path in (
        "frame",
        "marks",
        "marks/regions.csv",
        "marks/annotations.jsonld",
        "far-off",
        "far-off/preview?distance=1&magnification=1&length=9",
    ):
        assert stranger.get(f"{HERS}/{path}", base_url="http://127.0.0.1/").status_code == 404
    assert post(stranger, f"{HERS}/frame", FRAME)[0] == 404
    assert post(stranger, f"{HERS}/marks", FRAME)[0] == 404
