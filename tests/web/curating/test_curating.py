"""The pages about a catalogue's pictures over HTTP: what there is to do, done, and refused."""

from __future__ import annotations

import csv
from io import StringIO

import pytest
from sqlalchemy import select

from drillhall.store.models.catalogue import CataloguePictureRow, CatalogueRow, StewardRow
from drillhall.store.models.pictures import PictureRow, PicturesApartRow, RightsRow
from tests import cast
from tests.hall import MADE_AT
from tests.visits import Hall, Visitor
from tests.web.curating.curated import KEY, counted_statements, make_work

ROOM = f"/catalogues/{KEY}"
PAGES = ("curating", "wanted", "twins", "doubts", "shortcuts", "credited", "credited.csv")


@pytest.fixture
def steward(hall: Hall) -> Visitor:
    return hall.enter(cast.KEEPER, known=True)


def picture(hall: Hall, public_id: str) -> tuple[PictureRow, CataloguePictureRow]:
    with hall.store.look() as db:
        row = db.scalars(select(PictureRow).where(PictureRow.public_id == public_id)).one()
        return row, db.scalars(select(CataloguePictureRow).where(CataloguePictureRow.picture_id == row.id)).one()


def test_what_there_is_to_do_is_named_with_counts(hall: Hall, steward: Visitor) -> None:
    make_work(hall.store)
    text = steward.get(f"{ROOM}/curating").text
    assert "1 picture is called something else" in text
    assert "1 scene lies both among those drilled and those kept for tests." in text
    assert "2 groups to look at." in text
    assert "4 of 4 forms lack something" in text
    assert f'href="{ROOM}/curating"' in steward.get("/catalogues").text


@pytest.mark.parametrize("page", PAGES)
def test_another_catalogue_is_not_there(hall: Hall, steward: Visitor, page: str) -> None:
    with hall.store.work() as db:
        db.add(CatalogueRow(key="hers", title="Hers", subject="bird", list_name="List", made_at=MADE_AT, changed_at=MADE_AT))
    assert steward.get(f"/catalogues/hers/{page}").status_code == 404
    assert steward.get(f"/catalogues/none/{page}").status_code == 404


def test_a_steward_of_another_catalogue_is_told_nothing_and_changes_nothing(hall: Hall) -> None:
    work = make_work(hall.store)
    stranger = hall.enter(cast.STRANGER, known=True)
    with hall.store.work() as db:
        other = CatalogueRow(key="hers", title="Hers", subject="bird", list_name="List", made_at=MADE_AT, changed_at=MADE_AT)
        db.add(other)
        db.flush()
        db.add(StewardRow(catalogue_id=other.id, account_id=hall_person(hall, cast.STRANGER)))
    assert {stranger.get(f"{ROOM}/{page}").status_code for page in PAGES} == {404}
    for path in (f"pictures/{work.doubted}/take-out", f"doubts/{work.doubted}/right", "twins/one-scene", "twins/different"):
        assert stranger.post(f"{ROOM}/{path}", {"picture": list(work.leak), "use": "practice"}).status_code == 404
        # Nor by way of her own: the picture is not in it.
        assert stranger.post(f"/catalogues/hers/{path}", {"picture": list(work.leak), "use": "practice"}).status_code == 404
    row, held = picture(hall, work.doubted)
    assert (row.cluster, held.retired_at, held.checked_at) == ("", None, None)


def hall_person(hall: Hall, someone: cast.Someone) -> int:
    from drillhall.people import accounts

    with hall.store.look() as db:
        return next(one.id for one in accounts.list_accounts(db) if one.name == someone.name)


def test_who_drills_from_it_reads_what_is_wanted_and_nobody_else(hall: Hall) -> None:
    learner, stranger = hall.enter(cast.LEARNER, known=True), hall.enter(cast.STRANGER, known=True)
    page = learner.get(f"{ROOM}/wanted")
    assert page.status_code == 200
    assert "<b>14 to drill</b>: it has 6, so few that they are learnt by heart." in page.text
    assert "<b>3 for tests</b>" in page.text
    assert "Tide and mud kill" in page.text
    assert "<form" not in page.text.partition("<main")[2].partition("</main>")[0]
    assert stranger.get(f"{ROOM}/wanted").status_code == 404


def test_pictures_that_only_their_owner_sees_do_not_count_as_there(hall: Hall, steward: Visitor) -> None:
    with hall.store.work() as db:
        for rights in db.scalars(select(RightsRow)):
            rights.may_group = False
    assert "<b>20 to drill</b>: it has 0, so its pairs cannot be drilled." in steward.get(f"{ROOM}/wanted").text


def test_twins_stand_side_by_side_with_the_rights_of_both(hall: Hall, steward: Visitor) -> None:
    work = make_work(hall.store)
    text = steward.get(f"{ROOM}/twins").text
    leak, twins = text.index(work.leak[1]), text.index(work.twins[1])
    assert leak < twins
    assert "Their rights differ; each keeps its own." in text[leak:]
    assert "CC0 1.0" in text[leak:]
    assert "CC BY 4.0" in text[leak:]
    assert "This scene lies on both sides." in text


def test_a_scene_on_both_sides_goes_to_one(hall: Hall, steward: Visitor) -> None:
    work = make_work(hall.store)
    refused = steward.post(f"{ROOM}/twins/one-scene", {"picture": list(work.leak)})
    assert refused.status_code == 422
    assert "Choose one use for all of them." in refused.text
    answer = steward.post(f"{ROOM}/twins/one-scene", {"picture": list(work.leak), "use": "held-out"})
    assert (answer.status_code, answer.location) == (303, f"{ROOM}/twins?did=joined")
    rows = [picture(hall, public_id)[0] for public_id in work.leak]
    assert {row.use for row in rows} == {"held-out"}
    assert len({row.cluster for row in rows} - {""}) == 1
    assert "One scene." in steward.get(answer.location).text


def test_different_scenes_are_not_asked_again(hall: Hall, steward: Visitor) -> None:
    work = make_work(hall.store)
    assert steward.post(f"{ROOM}/twins/different", {"picture": list(work.twins)}).status_code == 303
    with hall.store.look() as db:
        assert len(db.scalars(select(PicturesApartRow)).all()) == 1
    assert work.twins[0] not in steward.get(f"{ROOM}/twins").text
    assert steward.post(f"{ROOM}/twins/different", {"picture": work.twins[0]}).status_code == 422


def test_a_disputed_label_is_found_right(hall: Hall, steward: Visitor) -> None:
    work = make_work(hall.store)
    text = steward.get(f"{ROOM}/doubts").text
    assert "12 of 12 said" in text
    assert "less than 1 in 100" in text
    assert "Only 12 learners: take it as a hint." in text
    answer = steward.post(f"{ROOM}/doubts/{work.doubted}/right")
    assert (answer.status_code, answer.location) == (303, f"{ROOM}/doubts?did=right")
    assert work.doubted not in steward.get(answer.location).text
    assert picture(hall, work.doubted)[1].checked_at == hall.clock()


@pytest.mark.parametrize(("back", "to"), [("doubts", "doubts"), ("twins", "twins"), ("//elsewhere", "twins")])
def test_a_picture_is_taken_out(hall: Hall, steward: Visitor, back: str, to: str) -> None:
    work = make_work(hall.store)
    answer = steward.post(f"{ROOM}/pictures/{work.doubted}/take-out", {"back": back})
    assert (answer.status_code, answer.location) == (303, f"{ROOM}/{to}?did=out")
    assert picture(hall, work.doubted)[1].retired_at == hall.clock()
    assert work.doubted not in steward.get(f"{ROOM}/doubts").text
    assert steward.post(f"{ROOM}/pictures/{work.doubted}/take-out", {"back": back}).status_code == 404


def test_a_pair_is_measured_when_its_page_is_opened(hall: Hall, steward: Visitor) -> None:
    work = make_work(hall.store)
    assert f"{ROOM}/shortcuts/{work.pair_id}" in steward.get(f"{ROOM}/shortcuts").text
    text = steward.get(f"{ROOM}/shortcuts/{work.pair_id}").text
    assert "6 and 6 pictures were measured." in text
    assert "Brightness" in text
    assert steward.get(f"{ROOM}/shortcuts/999").status_code == 404


def test_a_setting_that_gives_the_pair_away_is_told_with_what_mends_it(hall: Hall, steward: Visitor) -> None:
    work = make_work(hall.store)
    with hall.store.work() as db:
        forms: list[int] = []
        for row in db.scalars(select(PictureRow).order_by(PictureRow.id)):
            forms = forms or [row.form_id or 0]
            row.setting = "mud" if row.form_id == forms[0] else "grass"
    text = steward.get(f"{ROOM}/shortcuts/{work.pair_id}").text
    assert "Something other than the two forms tells these pictures apart." in text
    assert "Setting “grass”: 0 of 6 pictures of Sluice Fiddler, adult, 6 of 6 of Marsh Fiddler, adult." in text
    assert "Add pictures of Sluice Fiddler, adult with setting “grass”, or of Marsh Fiddler, adult with another." in text


def test_makers_are_counted_and_kept_as_a_table(hall: Hall, steward: Visitor) -> None:
    with hall.store.work() as db:
        rows = db.scalars(select(RightsRow).order_by(RightsRow.picture_id)).all()
        rows[0].creator = "=HYPERLINK(0)"
    assert "The tests of this project" in steward.get(f"{ROOM}/credited").text
    sent = steward.get(f"{ROOM}/credited.csv")
    assert sent.mimetype == "text/csv"
    table = list(csv.DictReader(StringIO(sent.data.decode("utf-8-sig"))))
    assert [(row["maker"], row["pictures"]) for row in table] == [("The tests of this project", "39"), ("'=HYPERLINK(0)", "1")]
    assert table[0]["licence"] == "CC0 1.0"


@pytest.mark.parametrize("page", ["curating", "wanted", "twins", "doubts", "shortcuts", "credited"])
def test_the_number_of_statements_does_not_grow_with_the_pictures(hall: Hall, steward: Visitor, page: str) -> None:
    make_work(hall.store)
    counts = []
    for alike in (0, 30):
        with hall.store.work() as db:
            for row in db.scalars(select(PictureRow).order_by(PictureRow.id).limit(alike)):
                row.fingerprint = 5
        with counted_statements() as seen:
            assert steward.get(f"{ROOM}/{page}").status_code == 200
        counts.append(len(seen))
    assert counts[0] == counts[1] > 0
