"""A drill looked through over HTTP: what its steward sees, what is not in it, and that nothing of it is kept."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from sqlalchemy import func, select, update

from drillhall.store.models.catalogue import CataloguePairRow, CatalogueRow, PairSetRow, StageRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import DrillRow, RoundRow, ShowingRow, SightRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEARNER
from tests.hall import MADE_AT
from tests.visits import Hall, Visitor, open_hall


@dataclass
class Looked:
    """A hall with the small catalogue, its steward, and where its preview stands."""

    hall: Hall
    steward: Visitor
    where: str

    def pictures(self, query: str = "") -> list[str]:
        """Return the pictures of a preview, each as often as it is shown, in order."""
        return re.findall(r'<img src="/pictures/([\w-]+)/', self.steward.get(self.where + query).text)


@pytest.fixture
def looked(built_hall: Path, tmp_path: Path) -> Iterator[Looked]:
    folder = Path(shutil.copytree(built_hall, tmp_path / "hall"))
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    hall = open_hall(store, folder)
    hall.clock.at = MADE_AT
    with store.look() as db:
        key = db.scalars(select(CatalogueRow.key)).one()
    yield Looked(hall, hall.enter(KEEPER, known=True), f"/catalogues/{key}/preview")
    store.close()


def test_every_pair_is_shown_and_asked_and_what_is_said_then_stands_beside(looked: Looked) -> None:
    page = looked.steward.get(looked.where).text
    with looked.hall.store.look() as db:
        pairs = db.scalar(select(func.count()).select_from(CataloguePairRow).where(CataloguePairRow.retired_at.is_(None)))
        practice = set(db.scalars(select(PictureRow.public_id).where(PictureRow.use == "practice")))
    assert page.count('<section class="stack" aria-labelledby="round-') == pairs
    shown = looked.pictures()
    assert shown
    assert set(shown) <= practice, "nothing held out, and no portrait"
    assert "Which form is this?" in page
    assert page.count("What is said then") >= len(shown)
    assert "Decides:" in page
    assert page.count('class="credit"') == len(shown)
    assert all(looked.steward.get(path).status_code == 200 for path in re.findall(r'<img src="([^"]+)"', page))


def test_the_same_throw_shows_the_same_and_another_one_others(looked: Looked) -> None:
    assert looked.pictures("?throw=3") == looked.pictures("?throw=3")
    assert len({tuple(looked.pictures(f"?throw={throw}")) for throw in range(4)}) > 1
    again = re.search(r'href="([^"]+)">Throw the dice again', looked.steward.get(f"{looked.where}?throw=3").text)
    assert again
    assert again[1].endswith("throw=4")


def test_looking_keeps_nothing(looked: Looked) -> None:
    def kept() -> list[int]:
        with looked.hall.store.look() as db:
            return [db.scalar(select(func.count()).select_from(row)) or 0 for row in (DrillRow, RoundRow, ShowingRow, SightRow)]

    before = kept()
    assert looked.pictures()
    assert kept() == before


def test_a_set_shows_what_its_stages_hold_and_says_what_is_left_out(looked: Looked) -> None:
    with looked.hall.store.work() as db:
        key = db.scalars(select(PairSetRow.key)).first()
        swims = db.scalars(select(PictureRow.id).where(PictureRow.use == "practice").order_by(PictureRow.id)).all()[::2]
        db.execute(update(PictureRow).values(pose="flying"))
        db.execute(update(PictureRow).where(PictureRow.id.in_(swims)).values(pose="swimming"))
        db.execute(update(StageRow).values(poses=["swimming"]))
        public = set(db.scalars(select(PictureRow.public_id).where(PictureRow.pose == "swimming")))
    shown = looked.pictures(f"?set={key}")
    assert shown
    assert set(shown) <= public
    with looked.hall.store.work() as db:
        db.execute(update(StageRow).values(poses=["diving"]))
    page = looked.steward.get(f"{looked.where}?set={key}").text
    assert "left out: a form of" in page
    assert "There is nothing to show yet" in page


def test_for_who_does_not_write_it_there_is_no_such_page(looked: Looked) -> None:
    assert looked.hall.enter(LEARNER, known=True).get(looked.where).status_code == 404
    assert looked.steward.get(f"{looked.where}?set=nobody").status_code == 404
