"""A steward's catalogues over HTTP: a zip is looked at, then brought in or left out, and given back."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select
from werkzeug.test import TestResponse

from drillhall.catalogues import staging
from drillhall.core.cautions import cautions, fixed_banner
from drillhall.store.models.catalogue import CatalogueRow, StewardRow
from drillhall.store.models.pictures import PictureRow
from tests.acts.pictures import jpeg
from tests.cast import LEADER, STRANGER
from tests.catalogues import folders
from tests.catalogues.folders import CATALOGUE, ROW
from tests.visits import Hall, Visitor


@pytest.fixture
def steward(hall: Hall) -> Visitor:
    return hall.enter(LEADER)


def zipped(tmp_path: Path, **changes: Any) -> bytes:
    folder = folders.write(tmp_path / "mudflat", **{"files": {"a.jpg": jpeg(1)}, **changes})
    return folders.pack(folder, tmp_path / "mudflat.zip", top="mudflat/").read_bytes()


def send(visitor: Visitor, content: bytes) -> TestResponse:
    return visitor.post("/catalogues", {"zip": (BytesIO(content), "..\\..\\my folder.zip")}, content_type="multipart/form-data")


def uploads(hall: Hall) -> list[Path]:
    return list((hall.folder / "uploads").glob("*"))


def count(hall: Hall, kind: Any) -> int:
    with hall.store.look() as db:
        return db.scalar(select(func.count()).select_from(kind)) or 0


def test_a_zip_is_looked_at_first_and_changes_nothing(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    answer = send(steward, zipped(tmp_path))
    assert answer.status_code == 303
    assert re.fullmatch(r"/catalogues/staged/[0-9a-f]{32}", answer.location)
    page = steward.get(answer.location)
    assert page.status_code == 200
    assert "3 to add: Lesser Oozer (adult), Greater Oozer (adult), Pale Oozer." in page.text
    assert "Lesser Oozer (adult): 1 practice picture;" in page.text
    assert all(sentence[:30] in page.text for sentence in cautions("bird", "upload"))
    assert count(hall, CatalogueRow) == 0


def test_it_is_brought_in_and_given_back(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    where = send(steward, zipped(tmp_path)).location
    answer = steward.post(where)
    assert (answer.status_code, answer.location) == (303, "/catalogues?brought=yes")
    assert "Brought in." in steward.get(answer.location).text
    assert [count(hall, kind) for kind in (CatalogueRow, StewardRow, PictureRow)] == [1, 1, 1]
    assert uploads(hall) == []
    sent = steward.get("/catalogues/mudflat/export")
    assert (sent.status_code, sent.mimetype) == (200, "application/zip")
    assert sent.headers["Content-Disposition"] == "attachment; filename=mudflat.zip"
    (tmp_path / "back.zip").write_bytes(sent.data)
    sent.close()
    assert folders.read(tmp_path / "back.zip") == folders.read(tmp_path / "mudflat")
    again = send(steward, (tmp_path / "back.zip").read_bytes())
    assert "There is nothing to bring in." in steward.get(again.location).text


def test_a_fixed_banner_stands_where_a_catalogue_comes_in(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    text = CATALOGUE.replace('subject = "bird"', 'subject = "fungus"')
    where = send(steward, zipped(tmp_path, catalogue=text)).location
    assert fixed_banner("fungus")[:40] in steward.get(where).text


def test_every_fault_is_told_and_nothing_kept(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    answer = send(steward, zipped(tmp_path, rows=[{**ROW, "form": "gone<b>", "use": "x"}]))
    assert answer.status_code == 422
    assert "2 things to mend" in answer.text
    assert "There is no form gone&lt;b&gt;." in answer.text
    assert uploads(hall) == []


def test_an_undecodable_picture_is_told_and_nothing_kept(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    where = send(steward, zipped(tmp_path, files={"a.jpg": b"no picture"})).location
    answer = steward.post(where)
    assert answer.status_code == 422
    assert "pictures.csv, line 2 (a.jpg): This file is no picture" in answer.text
    assert [count(hall, kind) for kind in (CatalogueRow, PictureRow)] == [0, 0]


@pytest.mark.parametrize("content", [b"", b"no zip", b"PK\x03\x04 broken"])
def test_what_is_no_zip_is_refused_with_a_sentence(hall: Hall, steward: Visitor, content: bytes) -> None:
    answer = send(steward, content)
    assert answer.status_code == 422
    assert "cannot be read as a zip" in answer.text
    assert uploads(hall) == []


def test_no_file_is_refused_with_a_sentence(steward: Visitor) -> None:
    answer = steward.post("/catalogues")
    assert (answer.status_code, "Choose the zip of a catalogue&#39;s folder." in answer.text) == (422, True)


def test_an_upload_can_be_left_out(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    where = send(steward, zipped(tmp_path)).location
    assert steward.post(f"{where}/drop").location == "/catalogues"
    assert uploads(hall) == []
    assert steward.get(where).status_code == 404


def test_an_upload_is_its_uploaders_alone(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    where = send(steward, zipped(tmp_path)).location
    stranger = hall.enter(STRANGER)
    assert [stranger.get(where).status_code, stranger.post(where).status_code, stranger.post(f"{where}/drop").status_code] == [404] * 3
    assert steward.get(where).status_code == 200


@pytest.mark.parametrize("token", ["x", "0" * 32, "..%2F..%2Fhall.sqlite", "0" * 33])
def test_a_token_that_is_none_leads_nowhere(steward: Visitor, token: str) -> None:
    assert steward.get(f"/catalogues/staged/{token}").status_code == 404


def test_an_upload_is_over_after_a_day(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    content = zipped(tmp_path)
    where = send(steward, content).location
    hall.clock.move(hours=25)
    steward.post("/sign-in", {"name": LEADER.name, "passphrase": LEADER.passphrase})
    assert steward.post(where).status_code == 404
    send(steward, content)
    assert len(uploads(hall)) == 1


def test_a_key_of_others_is_refused(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    content = zipped(tmp_path)
    steward.post(send(steward, content).location)
    answer = send(hall.enter(STRANGER), content)
    assert (answer.status_code, "Another catalogue of this hall has the key mudflat." in answer.text) == (422, True)


def test_only_a_steward_gets_it_back(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    steward.post(send(steward, zipped(tmp_path)).location)
    stranger = hall.enter(STRANGER)
    assert stranger.get("/catalogues/mudflat/export").status_code == 404
    stranger.post(send(stranger, zipped(tmp_path, catalogue=CATALOGUE.replace('"mudflat"', '"other"'))).location)
    assert stranger.get("/catalogues/mudflat/export").status_code == 404
    assert stranger.get("/catalogues/none/export").status_code == 404


def test_of_many_uploads_the_oldest_goes(hall: Hall, steward: Visitor, tmp_path: Path) -> None:
    content = zipped(tmp_path)
    first = send(steward, content).location
    for _ in range(staging.MOST_OF_ONE):
        hall.clock.move(minutes=1)
        assert send(steward, content).status_code == 303
    assert len(uploads(hall)) == staging.MOST_OF_ONE
    assert steward.get(first).status_code == 404


def test_the_hall_holds_so_many_uploads_and_no_more(hall: Hall, steward: Visitor, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    content = zipped(tmp_path)
    send(steward, content)
    monkeypatch.setattr(staging, "MOST_BYTES", 10)
    assert send(steward, content).status_code == 429
    monkeypatch.setattr(staging, "MOST_BYTES", 10**9)
    monkeypatch.setattr(staging, "MOST_BYTES_OF_ONE", 10)
    answer = send(steward, content)
    assert (answer.status_code, "The zip is larger than" in answer.text) == (422, True)
    assert len(uploads(hall)) == 1
