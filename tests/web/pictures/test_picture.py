"""One own picture over HTTP: what is told of it, withdrawing and bringing back, and letting its files go."""

from __future__ import annotations

import re

import pytest
from sqlalchemy import select

from drillhall.store.models.pictures import FileRow
from tests.cast import LEARNER, STRANGER
from tests.pictures.drawn import add_catalogue, add_form, noise, saved, scene
from tests.visits import Hall, Visitor
from tests.web.pictures.sent import rows, send_one, sent_ids

SOURCE, OTHER = saved(scene(900, 600)), saved(noise(300, 300))


@pytest.fixture
def learner(hall: Hall) -> Visitor:
    with hall.store.work() as db:
        add_catalogue(db, form_ids=(add_form(db, "Mudpiper"),))
    return hall.enter(LEARNER)


@pytest.fixture
def public_id(hall: Hall, learner: Visitor) -> str:
    return sent_ids(hall, learner, SOURCE)[0]


def test_all_that_is_known_is_told_with_each_purpose_and_its_reason(learner: Visitor, public_id: str) -> None:
    rights = {"with_rights": "yes", "creator": "Ada Mudd", "credit": "Ada Mudd", "licence": "CC-BY-NC-ND-4.0", "understood": "yes"}
    learner.post("/my-pictures/describe", {"picture": public_id, "form": 1, "setting": "mud", "orientation": "left"} | rights)
    page = learner.get(f"/my-pictures/{public_id}").text
    for told in ("Mudpiper", "on its left side", "mud", "900 × 600 pixels", "in 3 files", "CC BY-NC-ND 4.0"):
        assert told in page
    assert "Your own drill: <b>yes</b>" in page
    assert "Altered for others: cut, far off, shape only: <b>no</b>" in page
    assert "In a group that people pay for: <b>no</b>" in page
    assert page.count(": <b>no</b>") + page.count(": <b>yes</b>") == 9
    assert "not legal advice" in page


def test_another_persons_picture_and_none_at_all_are_alike(hall: Hall, public_id: str) -> None:
    stranger = hall.enter(STRANGER)
    texts = []
    for name in (public_id, "0" * 36):
        answers = [stranger.get(f"/my-pictures/{name}")] + [
            stranger.post(f"/my-pictures/{name}/{act}", {"for_good": "yes"}) for act in ("retire", "bring-back", "delete-files")
        ]
        assert {answer.status_code for answer in answers} == {404}
        # The mark of a form tells the second in which it was made.
        texts.append([re.sub(r'(name="csrf_token" value=)"[^"]+"', r"\1", answer.text) for answer in answers])
    assert texts[0] == texts[1]
    assert rows(hall)[0].retired_at is None


def test_a_withdrawn_picture_comes_back_with_one_button(hall: Hall, learner: Visitor, public_id: str) -> None:
    links = re.findall(r'<li><a href="([^"]+)"', learner.get(f"/my-pictures/{public_id}").text)
    assert len(links) == len(set(links)), "one way to each page"
    page = learner.get(learner.post(f"/my-pictures/{public_id}/retire").location).text
    assert f"/my-pictures/{public_id}/bring-back" in page
    assert "Withdrawn: nobody is shown it." in learner.get("/my-pictures?show=withdrawn").text
    assert learner.get(f"/my-pictures/{public_id}").status_code == 200
    answer = learner.post(f"/my-pictures/{public_id}/bring-back")
    assert answer.status_code == 303
    assert "It is back." in learner.get(answer.location).text
    assert rows(hall)[0].retired_at is None


def test_it_does_not_come_back_beside_the_same_picture_sent_again(hall: Hall, learner: Visitor, public_id: str) -> None:
    learner.post(f"/my-pictures/{public_id}/retire")
    assert send_one(learner, SOURCE).get_json()["already"] is False
    answer = learner.post(f"/my-pictures/{public_id}/bring-back")
    assert answer.status_code == 422
    assert "sent this very picture again" in answer.text
    assert [row.retired_at is None for row in rows(hall)] == [False, True]


def test_files_are_deleted_only_when_meant_and_then_for_good(hall: Hall, learner: Visitor, public_id: str) -> None:
    sent_ids(hall, learner, OTHER)
    refused = learner.post(f"/my-pictures/{public_id}/delete-files")
    assert refused.status_code == 422
    assert "Tick that you mean it" in refused.text
    assert len(_files_on_disk(hall, public_id)) == 3
    answer = learner.post(f"/my-pictures/{public_id}/delete-files", {"for_good": "yes"})
    assert answer.status_code == 303
    assert "cannot be called back" in learner.get(answer.location).text
    assert _files_on_disk(hall, public_id) == []
    with hall.store.look() as db:
        assert rows(hall)[0].id not in set(db.scalars(select(FileRow.picture_id)))
    page = learner.get(f"/my-pictures/{public_id}").text
    assert "nothing: its files are deleted" in page
    assert (page.count(": <b>no</b>"), page.count(": <b>yes</b>")) == (9, 0), "what is gone may be had for nothing, not even her own drill"
    assert learner.post(f"/my-pictures/{public_id}/bring-back").status_code == 422
    assert learner.get("/my-pictures?show=withdrawn").status_code == 200
    assert send_one(learner, SOURCE).get_json()["already"] is False


def test_the_file_as_it_came_is_given_back_to_its_owner_alone(hall: Hall, learner: Visitor, public_id: str) -> None:
    answer = learner.get(f"/my-pictures/{public_id}/original")
    assert (answer.status_code, answer.data, answer.content_type) == (200, SOURCE, "image/jpeg")
    assert answer.headers["Content-Disposition"].startswith("attachment; ")
    assert answer.headers["Cache-Control"] == "no-store"
    assert hall.enter(STRANGER).get(f"/my-pictures/{public_id}/original").status_code == 404
    assert f"/my-pictures/{public_id}/original" in learner.get(f"/my-pictures/{public_id}").text
    learner.post("/my-pictures/originals/delete", {"for_good": "yes"})
    assert learner.get(f"/my-pictures/{public_id}/original").status_code == 404
    assert "Get the file as it came" not in learner.get(f"/my-pictures/{public_id}").text


def test_the_list_is_sorted_by_what_is_asked(hall: Hall, learner: Visitor, public_id: str) -> None:
    (other,) = sent_ids(hall, learner, OTHER)
    learner.post("/my-pictures/describe", {"picture": other, "form": 1})
    listed = {show: learner.get(f"/my-pictures?{show}").text for show in ("show=all", "show=waiting", "show=not-drilled", "form=1")}
    assert [name in listed["show=all"] for name in (public_id, other)] == [True, True]
    assert [name in listed["show=waiting"] for name in (public_id, other)] == [True, False]
    assert [name in listed["show=not-drilled"] for name in (public_id, other)] == [False, False]
    assert [name in listed["form=1"] for name in (public_id, other)] == [False, True]


def _files_on_disk(hall: Hall, public_id: str) -> list[str]:
    return [path.name for path in (hall.folder / "pictures").rglob("*") if path.is_file() and public_id in str(path)]


def test_originals_go_only_when_that_is_ticked(hall: Hall, learner: Visitor, public_id: str) -> None:
    def kept() -> int:
        with hall.store.look() as db:
            return len(db.scalars(select(FileRow).where(FileRow.size_name == "original")).all())

    answer = learner.post("/my-pictures/originals/delete")
    assert answer.status_code == 422
    assert "tick that you mean it" in answer.text
    assert kept() == 1
    assert learner.post("/my-pictures/originals/delete", {"for_good": "yes"}).status_code == 303
    assert kept() == 0


def test_an_ended_permission_keeps_the_original_from_its_owner_too(learner: Visitor, public_id: str) -> None:
    learner.post("/my-pictures/describe", {"picture": public_id, "form": 1})
    said = {"licence": "LicenseRef-used-with-permission", "granted_by": "Oda Reed", "granted_on": "2031-03-01", "scope": "group"}
    said |= {"creator": "Oda Reed", "credit": "Oda Reed", "evidence": "Her letter.", "understood": "yes"}
    assert learner.post(f"/my-pictures/{public_id}/rights", said).status_code == 303
    assert learner.get(f"/my-pictures/{public_id}/original").status_code == 200
    assert f"/pictures/{public_id}/" in learner.get(f"/my-pictures/{public_id}/label").text
    assert learner.post(f"/my-pictures/{public_id}/rights/end").status_code == 303
    assert f"/pictures/{public_id}/" not in learner.get(f"/my-pictures/{public_id}/label").text, "no image that cannot be had"
    assert f"/my-pictures/{public_id}/original" not in learner.get(f"/my-pictures/{public_id}").text
    assert learner.get(f"/my-pictures/{public_id}/original").status_code == 404


def test_many_are_framed_one_after_the_other(hall: Hall, learner: Visitor) -> None:
    ids = sent_ids(hall, learner, SOURCE, OTHER, saved(noise(320, 300)))
    frame = {"left": "10", "top": "10", "width": "80", "height": "80"}
    page = learner.get(learner.post("/my-pictures/describe", {"picture": ids, "form": "1"}).location).text
    framed = []
    while found := re.search(r"/my-pictures/([0-9a-f-]{36})/frame\">", page):
        framed.append(found[1])
        page = learner.get(learner.post(f"/my-pictures/{found[1]}/frame", frame).location).text
    assert framed == ids[::-1]
    learner.post(f"/my-pictures/{ids[2]}/frame", {"whole": "yes"})
    learner.post(f"/my-pictures/{ids[1]}/retire")
    assert f"/my-pictures/{ids[2]}/frame" in learner.get(f"/my-pictures/{ids[0]}/frame").text, "round again from the last"
    assert "without a frame" not in learner.get(f"/my-pictures/{ids[2]}/frame").text


def test_the_same_bytes_of_two_owners_keep_the_rights_of_each(hall: Hall, learner: Visitor, public_id: str) -> None:
    stranger = hall.enter(STRANGER)
    (hers,) = sent_ids(hall, stranger, SOURCE)
    rights = {"form": 1, "with_rights": "yes", "creator": "Bo Reed", "credit": "Bo Reed", "licence": "CC-BY-4.0", "understood": "yes"}
    assert stranger.post("/my-pictures/describe", {"picture": hers} | rights).status_code == 303
    learner.post("/my-pictures/describe", {"picture": public_id, "form": 1})
    assert hers != public_id
    for who, own, others, licence in ((learner, public_id, hers, "no licence given"), (stranger, hers, public_id, "CC BY 4.0")):
        page = who.get("/my-pictures").text
        assert (own in page, others in page, licence in page) == (True, False, True)
        assert who.get(f"/my-pictures/{others}").status_code == 404
    with hall.store.look() as db:
        names = {file.storage_key for file in db.scalars(select(FileRow))}
        assert len(names) == len(list(db.scalars(select(FileRow)))), "no file is shared by the two"
