"""A hall with a catalogue of pictures, whose keeper leads a group that asks an open question."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.store.models.open_questions import OpenQuestionRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.session import Store
from tests.cast import KEEPER
from tests.hall import MADE_AT
from tests.visits import Hall, Visitor, open_hall
from tests.web.groups.test_groups import make


@dataclass
class Asked:
    """A question that is asked: the hall, who leads, and its two addresses."""

    hall: Hall
    leader: Visitor
    group: str
    led: str
    link: str

    def visitor(self) -> Visitor:
        return self.hall.visitor()

    @property
    def day(self) -> str:
        return self.hall.clock().date().isoformat()

    def truth(self, picture: str) -> int:
        with self.hall.store.look() as db:
            return db.scalars(select(PictureRow.form_id).where(PictureRow.public_id == picture)).one() or 0


@pytest.fixture
def asked(built_hall: Path, tmp_path: Path) -> Iterator[Asked]:
    folder = Path(shutil.copytree(built_hall, tmp_path / "hall"))
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    hall = open_hall(store, folder)
    hall.clock.at = MADE_AT
    leader = hall.enter(KEEPER, known=True)
    group = make(leader)
    fields = {"title": "The Thursday bird", "set": "1", "sites": "https://club.example"}
    answer = leader.post(f"{group}/open-questions", fields)
    assert answer.status_code == 303, answer.text
    with store.work() as db:
        row = db.scalars(select(OpenQuestionRow)).one()
        row.zone = "UTC"
        public_id = row.public_id
    yield Asked(hall, leader, group, str(answer.location), f"/open/{public_id}")
    store.close()
