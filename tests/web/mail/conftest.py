"""An open hall behind https that sends mail, a member of a club in it, and her letters as they wait."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.config import MailSettings
from drillhall.people import accounts, groups
from drillhall.people.person import Person
from drillhall.practice.assigning import Wanted, assign
from drillhall.store.models.post import LetterRow
from drillhall.store.session import Store
from drillhall.web.office import office_of
from tests.cast import LEADER, STRANGER
from tests.hall import MADE_AT
from tests.post.postbox import HALL
from tests.visits import Hall, Visitor, open_hall

MAIL = MailSettings("127.0.0.1", 9, "none", "The hall <hall@hall.example>")
GROUP = "00000000-0000-4000-8000-0000000000aa"


@dataclass
class Club:
    """A hall in which a leader gives a club pair sets; its member, signed in, and the leader, signed in."""

    hall: Hall
    lead: Person
    leader: Visitor
    member: Visitor
    member_id: int

    def letters(self) -> list[LetterRow]:
        with self.hall.store.look() as db:
            return list(db.scalars(select(LetterRow).order_by(LetterRow.id)))

    def reach(self, address: str = "pell@club.example") -> None:
        """Give an address and confirm it."""
        assert self.member.post("/settings/mail", {"address": address}).status_code == 303
        assert follow(self.hall, link_in(self.letters()[-1].text, "confirm")).status_code == 303

    def give(self, *, for_day: int | None = 28, zone: str = "UTC") -> None:
        """Give the club a pair set from today on; its member lives in a zone."""
        today = self.hall.clock().date()
        with self.hall.store.work() as db:
            wanted = Wanted(1, today, today + timedelta(days=for_day) if for_day is not None else None)
            assign(db, self.group_id(), wanted, by=self.lead.id, today=today, at=self.hall.clock())
            from drillhall.store.models.people import AccountRow

            db.get_one(AccountRow, self.member_id).zone = zone

    def group_id(self) -> int:
        from drillhall.store.models.groups import GroupRow

        with self.hall.store.look() as db:
            return db.scalars(select(GroupRow.id).where(GroupRow.public_id == GROUP)).one()


def office(hall: Hall):  # type: ignore[no-untyped-def]  # an Office, or the test is wrong
    from drillhall.web.session import settings

    with hall.app.app_context():
        made = office_of(settings(), str(hall.app.secret_key))
    assert made is not None
    return made


def link_in(text: str, word: str) -> str:
    """Return the path of the link in a letter that has a word in it."""
    return re.findall(rf"{HALL}(/mail/{word}\S*)", text)[0]


def follow(hall: Hall, path: str):  # type: ignore[no-untyped-def]  # a TestResponse
    """Press the button of a link's page, in a browser that knows nothing of the hall."""
    return hall.visitor().client.post(path, data={"page": "yes"}, base_url=hall.base)


@pytest.fixture
def club(built_hall: Path, tmp_path: Path) -> Iterator[Club]:
    folder = Path(shutil.copytree(built_hall, tmp_path / "hall"))
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    hall = open_hall(store, folder, public_url=HALL, mail=MAIL)
    hall.clock.at = MADE_AT + timedelta(hours=1)
    lead = hall.add(LEADER)
    with store.work() as db:
        made = groups.make_group(db, by=lead, title="Sluice watchers", kind="club", is_paid=False, public_id=GROUP, at=MADE_AT)
        member = accounts.recognise(db, name=STRANGER.name, passphrase=STRANGER.passphrase).account_id
        groups.add_member(db, made.id, member, at=MADE_AT)
    yield Club(hall, lead, hall.enter(LEADER, known=True), hall.enter(STRANGER, known=True), member)
    store.close()
