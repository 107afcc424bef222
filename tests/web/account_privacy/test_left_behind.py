"""A hall goes on after the one who brought its catalogue in is erased: with her licensed pictures, and without any."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from sqlalchemy import select, update

from drillhall.people import accounts
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEARNER, STRANGER
from tests.hall import MADE_AT
from tests.visits import Hall, Visitor, open_hall

CATALOGUE = "/catalogues/small-estuary"
PAGES = (
    *(f"{CATALOGUE}{page}" for page in ("", "/history", "/stewards", "/curating", "/credited", "/wanted", "/export")),
    *("/pair-sets/1/credits", "/standing", "/shelf", "/hall/people", "/"),
)


@pytest.fixture
def two_keepers(built_hall: Path, tmp_path: Path) -> Hall:
    """The same with a second keeper."""
    folder = Path(shutil.copytree(built_hall, tmp_path / "hall"))
    hall = open_hall(Store(f"sqlite:///{folder / 'hall.sqlite'}"), folder)
    hall.clock.at = MADE_AT
    with hall.store.work() as db:
        db.execute(update(AccountRow).where(AccountRow.name == STRANGER.name).values(is_keeper=True))
    return hall


@pytest.mark.parametrize(("choice", "files"), [("leave", True), ("take", False)])
def test_every_page_of_those_who_stay_still_opens(two_keepers: Hall, choice: str, files: bool) -> None:
    hall = two_keepers
    keeper, learner = hall.enter(KEEPER, known=True), hall.enter(LEARNER, known=True)
    plan = learner.client.post("/drills", headers={"X-CSRFToken": learner.token()}, json={})
    asked = keeper.post("/you/erase", {"passphrase": KEEPER.passphrase, "for_good": "yes"})
    assert (asked.status_code, "pictures that catalogues hold" in asked.text) == (422, True)
    assert keeper.post("/you/erase", {"passphrase": KEEPER.passphrase, "for_good": "yes", "pictures": choice}).status_code == 303
    other = hall.enter(STRANGER, known=True)
    assert {page: _status(other, page) for page in PAGES} == dict.fromkeys(PAGES, 200)
    assert learner.get(plan.get_json()["packet_url"]).status_code == 200
    assert any((hall.folder / "pictures").rglob("*.webp")) is files
    with hall.store.look() as db:
        assert not db.scalars(select(PictureRow.id).where(PictureRow.owner_id.is_not(None))).all()
        assert accounts.the_keeper(db).name == STRANGER.name
    hall.store.close()


def _status(visitor: Visitor, page: str) -> int:
    answer = visitor.get(page)
    answer.close()
    return answer.status_code
