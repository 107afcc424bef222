"""The credits of a pair set over HTTP: every picture once by maker, machine readable, and nobody's but what may be shown."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.core.licences import LICENCES, WITH_PERMISSION
from drillhall.core.rights import Purpose, Rights
from drillhall.people.accounts import list_accounts
from drillhall.pictures.ingest import rights_row
from drillhall.practice.crediting import credits_of_set
from drillhall.store.models.catalogue import PairSetRow
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.session import Store
from tests import cast
from tests.practice.small_hall import SmallHall, make_small_hall
from tests.visits import Hall, Visitor, open_hall

TITLED = Rights(
    creator="Wilhelmine Sallow",
    licence=LICENCES["CC-BY-SA-2.0"],
    credit="W. Sallow / Flats Club",
    title="Reed mudpiper <female>",
    source="https://club.example/17",
)


@pytest.fixture
def hall(sqlite_store: Store, tmp_path: Path) -> Hall:
    return open_hall(sqlite_store, tmp_path)


@pytest.fixture
def small(hall: Hall) -> SmallHall:
    with hall.store.work() as db:
        return make_small_hall(db, taken=False)


@pytest.fixture
def learner(hall: Hall, small: SmallHall) -> Visitor:
    return hall.enter(cast.LEARNER)


def give(hall: Hall, rights: Rights, *, number: int = 0, owner: cast.Someone | None = None, use: str = "practice") -> str:
    """Give one practice picture other rights, and an owner, and return its name."""
    with hall.store.work() as db:
        picture = db.scalars(select(PictureRow).where(PictureRow.use == "practice").order_by(PictureRow.id)).all()[number]
        said = rights_row(rights)
        said.picture_id = picture.id
        db.merge(said)
        picture.use = use
        if owner is not None:
            picture.owner_id = next(one.id for one in list_accounts(db) if one.name == owner.name)
        return picture.public_id


def credits_page(visitor: Visitor, small: SmallHall) -> str:
    answer = visitor.get(f"/pair-sets/{small.pair_set}/credits")
    assert answer.status_code == 200
    return answer.text


def test_what_is_said_of_each_alike_is_said_once_to_people_and_of_each_to_machines(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    for number in (0, 1, 2):
        name = give(hall, TITLED, number=number)
    give(hall, replace(TITLED, title="Another"), number=3)
    page = credits_page(learner, small)
    items = [found for found in re.findall(r"<li about=.*?</li>", page, re.DOTALL) if "Wilhelmine" in found]
    told = [" ".join(unescape(re.sub(r"<[^>]+>", "", item)).split()) for item in items]
    assert [words.endswith("3 pictures alike.") for words in told] == [True, False]
    again = re.findall(rf'<span about="/pictures/{name}/.*?</span>', items[0])
    assert len(again) == 1
    for said in ('content="Wilhelmine Sallow"', 'href="https://creativecommons.org/licenses/by-sa/2.0/"', 'href="https://club.example/17"'):
        assert said in again[0]
    assert items[0].count("cc:attributionName") == items[0].count('rel="license"') == 3


def test_every_picture_stands_once_under_its_maker(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    name = give(hall, TITLED)
    page = credits_page(learner, small)
    # Four forms of twelve practice pictures and two portraits; the held-out ones stand nowhere.
    assert page.count('typeof="dcmitype:StillImage"') == 4 * (12 + 2)
    assert page.count(f'about="/pictures/{name}/') == 1
    assert re.findall(r"<h2 id=\"maker-\d+\">([^<]+)</h2>", page) == ["A. Stand-in", "Wilhelmine Sallow"]
    assert "56 pictures that you may be shown, by 2 makers" in page


def test_the_credit_is_whole_and_machines_can_read_it(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    name = give(hall, TITLED)
    page = credits_page(learner, small)
    item = next(found for found in re.findall(r"<li about=.*?</li>", page, re.DOTALL) if name in found)
    assert 'typeof="dcmitype:StillImage"' in item
    assert '<span property="cc:attributionName">Wilhelmine Sallow</span>' in item
    assert '<a rel="license" href="https://creativecommons.org/licenses/by-sa/2.0/">CC BY-SA 2.0</a>' in item
    assert '<a rel="dc:source" href="https://club.example/17">' in item
    assert '<cite property="dc:title">Reed mudpiper &lt;female&gt;</cite>' in item
    words = unescape(re.sub(r"<[^>]+>", "", item))
    assert words == (
        "Drawing Reed mudpiper <female> by Wilhelmine Sallow, W. Sallow / Flats Club, https://club.example/17, "
        "CC BY-SA 2.0 (https://creativecommons.org/licenses/by-sa/2.0/)."
    )
    assert "<script>" not in page


@pytest.mark.parametrize(("licence", "told"), [("CC-BY-4.0", "CC BY 4.0</a><span"), ("CC-BY-ND-4.0", "CC BY-ND 4.0</a><span")])
def test_what_was_done_to_it_is_said_where_it_may_be_done(hall: Hall, learner: Visitor, small: SmallHall, licence: str, told: str) -> None:
    name = give(hall, Rights("Ada Mudd", LICENCES[licence], "Ada Mudd"))
    with hall.store.work() as db:
        picture = db.scalars(select(PictureRow).where(PictureRow.public_id == name)).one()
        for number, rendition in enumerate(("cut", "far off")):
            file = FileRow(picture_id=picture.id, size_name=rendition, rendition=rendition, recipe=f"{900 + number:032x}")
            file.storage_key, file.media_type, file.width_px, file.height_px, file.bytes = rendition, "image/webp", 90, 60, 1
            db.add(file)
    page = credits_page(learner, small)
    assert told in page
    assert (", cut, shown as from far off." in page) == (licence == "CC-BY-4.0")


def test_many_credits_come_in_pages_that_hold_every_picture_once(
    hall: Hall, learner: Visitor, small: SmallHall, monkeypatch: pytest.MonkeyPatch
) -> None:
    give(hall, TITLED)
    monkeypatch.setattr(credits_of_set, "__kwdefaults__", credits_of_set.__kwdefaults__ | {"size": 25})
    told = [learner.get(f"/pair-sets/{small.pair_set}/credits?page={page}").text for page in (0, 1, 2, 99, -1)]
    listed = [re.findall(r'about="([^"]+)"', page) for page in told]
    assert [len(page) for page in listed] == [25, 25, 6, 6, 25]
    assert len({address for page in listed[:3] for address in page}) == 56
    assert all("56 pictures that you may be shown, by 2 makers" in page for page in told)
    assert ["26 to 50 of 56" in page for page in told] == [False, True, False, False, False]
    assert ("page=1" in told[0], "page=3" in told[2], "51 to 56 of 56" in told[3]) == (True, False, True)


def test_nobody_is_credited_for_what_one_is_not_shown(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    stranger = hall.enter(cast.STRANGER)
    give(hall, Rights("Hers alone"), owner=cast.STRANGER)
    give(hall, Rights("Held back", LICENCES["CC0-1.0"], "Held back"), number=1, use="held-out")
    ended = Rights("Ended", WITH_PERMISSION, "Ended", agreed=frozenset({Purpose.GROUP}), until=hall.clock().date().replace(day=1))
    give(hall, ended, number=2)
    page = credits_page(learner, small)
    assert not [name for name in ("Hers alone", "Held back", "Ended") if name in page]
    assert "Hers alone" in credits_page(stranger, small)


def test_a_source_that_is_no_address_is_no_link(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    give(hall, Rights("Ada Mudd", LICENCES["CC0-1.0"], "Ada Mudd", source="javascript:alert(1)"))
    page = credits_page(learner, small)
    assert 'href="javascript:' not in page
    assert '<span property="dc:source">javascript:alert(1)</span>' in page


@pytest.mark.parametrize("pair_set", ["987654", "0"])
def test_a_set_that_is_not_there_has_no_credits(learner: Visitor, pair_set: str) -> None:
    assert learner.get(f"/pair-sets/{pair_set}/credits").status_code == 404


def test_a_retired_set_has_none_and_a_visitor_signs_in_first(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    assert hall.visitor().get(f"/pair-sets/{small.pair_set}/credits").status_code == 303
    with hall.store.work() as db:
        db.get_one(PairSetRow, small.pair_set).retired_at = hall.clock()
    assert learner.get(f"/pair-sets/{small.pair_set}/credits").status_code == 404


def test_shelf_and_drill_end_lead_to_the_credits(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    address = f'href="/pair-sets/{small.pair_set}/credits"'
    assert address in learner.get("/shelf").text
    learner.post(f"/shelf/{small.pair_set}/take")
    learner.post("/drills")
    assert address in learner.get("/drill/end").text


def test_before_the_answer_no_title_stands_beside_the_picture(hall: Hall, learner: Visitor, small: SmallHall) -> None:
    for number in range(48):
        give(hall, TITLED, number=number)
    learner.post(f"/shelf/{small.pair_set}/take")
    learner.post("/drills")
    page = learner.get("/drill").text
    if "Try a round" in page:
        page = learner.get(unescape(re.findall(r'data-begin href="([^"]+)"', page)[0])).text
    assert "Drawing: Wilhelmine Sallow, CC BY-SA 2.0" in page
    assert "&lt;female&gt;" not in page
    assert "club.example" not in page
    fields = {name: unescape(value) for name, value in re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page)}
    said = re.findall(r'name="answer" value="([^"]+)"', page)[0]
    told = learner.get(learner.post("/drills/answers", fields | {"answer": said}).location).text
    assert "Reed mudpiper &lt;female&gt;" in told
