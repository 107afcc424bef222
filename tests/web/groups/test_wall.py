"""The wall of a room over HTTP: what hangs there, when the answer comes, and who may put something up."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select, update

from drillhall.store.base import Row
from drillhall.store.models.catalogue import PairSetRow
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEARNER, STRANGER
from tests.hall import MADE_AT
from tests.visits import Hall, Visitor, open_hall
from tests.web.groups.test_groups import make


@pytest.fixture
def room(built_hall: Path, tmp_path: Path) -> Iterator[Hall]:
    folder = Path(shutil.copytree(built_hall, tmp_path / "hall"))
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    hall = open_hall(store, folder)
    hall.clock.at = MADE_AT + timedelta(hours=1)
    yield hall
    store.close()


@pytest.fixture
def leader(room: Hall) -> Visitor:
    return room.enter(KEEPER, known=True)


def on(page: str) -> str:
    found = re.search(r'href="([^"]+)" data-on', page)
    assert found, page
    return found[1].replace("&amp;", "&")


def through(visitor: Visitor, path: str) -> list[str]:
    """Go from picture to answer to picture until the wall begins again, and return every page."""
    pages = [visitor.get(path).text]
    while "Begin again" not in pages[-1]:
        pages.append(visitor.get(on(pages[-1])).text)
    return pages


def test_every_picture_is_asked_and_then_told(room: Hall, leader: Visitor) -> None:
    pages = through(leader, f"{make(leader)}/wall/1")
    asked, told = pages[::2], pages[1::2]
    assert len(asked) == len(told) >= 4
    for page in asked:
        assert "Which form is this?" in page
        assert "this one" not in page
        assert "side-true" not in page
    for page in told:
        assert page.count("this one") == 1


def test_the_answer_is_not_in_the_source_before_it_is_asked_for(room: Hall, leader: Visitor) -> None:
    """Two pictures of a pair are asked with the very same words, whichever form each shows, but for the picture itself and the count."""
    pages = through(leader, f"{make(leader)}/wall/1")
    own = r'<div class="picture".*?</div>|href="[^"]*"|<footer.*?</footer>'
    asked: dict[tuple[str, ...], set[str]] = {}
    truths: dict[tuple[str, ...], set[str]] = {}
    for page, told in zip(pages[::2], pages[1::2], strict=True):
        names = tuple(re.findall(r'form-name"[^>]*>([^<]+).*?said">([^<]*)', page))
        asked.setdefault(names, set()).add(re.sub(own, "", page, flags=re.S))
        truths.setdefault(names, set()).add(told.split("side-true")[1].split("</span>")[0])
    assert {len(forms) for forms in truths.values()} == {2}, "both forms of each pair hang"
    assert {len(words) for words in asked.values()} == {1}


def test_nothing_is_recorded(room: Hall, leader: Visitor) -> None:
    path = f"{make(leader)}/wall/1"
    before = everything(room.store)
    through(leader, path)
    assert everything(room.store) == before


def test_the_same_throw_gives_the_same_order(room: Hall, leader: Visitor) -> None:
    path = f"{make(leader)}/wall/1"
    first, again, other = (leader.get(f"{path}?throw={throw}&at=1").text for throw in (3, 3, 4))
    assert pictures_in(first) == pictures_in(again)
    orders = {pictures_in(leader.get(f"{path}?throw={throw}").text) for throw in range(12)}
    assert len(orders) > 1
    assert other


def test_held_out_pictures_and_those_not_for_a_group_do_not_hang(room: Hall, leader: Visitor) -> None:
    path = f"{make(leader)}/wall/1"
    with room.store.work() as db:
        one, *_, last = db.scalars(select(PictureRow).where(PictureRow.use == "practice").order_by(PictureRow.id)).all()
        one.use = "held-out"
        db.execute(update(RightsRow).where(RightsRow.picture_id == last.id).values(may_group=False, licence="", licence_url=""))
        names = (one.public_id, last.public_id)
    for throw in range(6):
        for page in through(leader, f"{path}?throw={throw}")[::2]:
            assert not any(name in page for name in names)


@pytest.mark.parametrize("is_paid", [True, False])
def test_a_paid_group_sees_only_what_may_be_used_for_pay(room: Hall, leader: Visitor, is_paid: bool) -> None:
    group = make(leader, **({"is_paid": "yes"} if is_paid else {}))
    with room.store.work() as db:
        licence = {"licence": "CC-BY-NC-4.0", "licence_url": "https://creativecommons.org/licenses/by-nc/4.0/", "may_paid": False}
        db.execute(update(RightsRow).values(licence))
    page = leader.get(f"{group}/wall/1").text
    assert ("There is nothing to put on the wall" in page) is is_paid


def test_a_set_whose_pictures_were_withdrawn_says_so(room: Hall, leader: Visitor) -> None:
    path = f"{make(leader)}/wall/1"
    with room.store.work() as db:
        db.execute(update(PictureRow).values(retired_at=room.clock()))
    answer = leader.get(path)
    assert answer.status_code == 200
    assert "There is nothing to put on the wall" in answer.text


@pytest.mark.parametrize("asked", ["at=999", "at=-1", "at=x", "throw=x", "at=12345678"])
def test_a_picture_that_is_not_there_is_not_found(room: Hall, leader: Visitor, asked: str) -> None:
    assert leader.get(f"{make(leader)}/wall/1?{asked}").status_code == 404


def test_a_retired_set_and_one_never_there_are_not_found(room: Hall, leader: Visitor) -> None:
    group = make(leader)
    assert leader.get(f"{group}/wall/999").status_code == 404
    with room.store.work() as db:
        db.execute(update(PairSetRow).values(retired_at=room.clock()))
    assert leader.get(f"{group}/wall/1").status_code == 404


def test_another_leader_a_member_and_a_visitor_put_nothing_up(room: Hall, leader: Visitor) -> None:
    group = make(leader)
    stranger = room.enter(STRANGER, known=True)
    assert stranger.get(f"{group}/wall/1").status_code == 404
    make(stranger, "Her own")
    assert stranger.get(f"{group}/wall/1").status_code == 404
    assert room.enter(LEARNER, known=True).get(f"{group}/wall").status_code == 404
    assert room.visitor().get(f"{group}/wall/1").status_code == 303


def test_a_steward_sees_her_set_as_a_room_would(room: Hall, leader: Visitor) -> None:
    path = "/catalogues/small-estuary/sets/fiddlers/wall"
    assert "this one" in leader.get(on(leader.get(path).text)).text
    assert leader.get("/catalogues/small-estuary/sets/none/wall").status_code == 404
    assert room.enter(STRANGER, known=True).get(path).status_code == 404


def pictures_in(page: str) -> tuple[str, ...]:
    return tuple(re.findall(r"/pictures/([\w-]{36})/", page))


def everything(store: Store) -> dict[str, list[str]]:
    with store.look() as db:
        return {table.name: sorted(map(repr, db.execute(select(table)).all())) for table in Row.metadata.sorted_tables}
