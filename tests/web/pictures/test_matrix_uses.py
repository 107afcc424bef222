"""What of a picture of each row of the matrix reaches a wall, an open question, paper and an export: the pages' own bytes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from hashlib import sha256
from io import BytesIO
from uuid import UUID
from zipfile import ZipFile

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.core.licences import CC0
from drillhall.core.rights import Rights
from drillhall.pictures.ingest import add_picture
from drillhall.pictures.storage import FolderStorage
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.models.catalogue import (
    CatalogueFormRow,
    CataloguePairRow,
    CataloguePictureRow,
    PairSetRow,
    StagePairRow,
    StageRow,
    StewardRow,
)
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.open_questions import OpenQuestionRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.models.seasons import OutingRow
from drillhall.store.session import Store
from tests.cast import LEADER, LEARNER
from tests.hashing import light_hashing
from tests.pictures.drawn import add_catalogue, add_form
from tests.visits import MORNING, Hall, Visitor, open_hall
from tests.web.pictures.test_matrix import ALTERED, LINES, TAKEN, Line, rights_of

DAYS = 6
"""Days of an open question that are looked at: of two pictures each comes in three of them, at the latest on the second."""
USES = ("practice", "portrait")
GROUPS = ("club", "paid")


def public_id(number: int, use: str) -> str:
    return str(UUID(int=number * 2 + USES.index(use) + 1, version=4))


class UsesHall:
    """A learner's pictures of each row, for practice and a portrait, in a catalogue with a pair set a row; its steward leads two groups."""

    def __init__(self, hall: Hall) -> None:
        self.hall, self.storage = hall, FolderStorage(hall.folder / "pictures")
        self.owner, self.leader, self.visitor = hall.enter(LEARNER), hall.enter(LEADER), hall.visitor()
        with hall.store.work() as db:
            self.ids = {one: db.scalars(select(AccountRow.id).where(AccountRow.name == one.name)).one() for one in (LEARNER, LEADER)}
            self.catalogue = add_catalogue(db, key="matrix", steward_id=self.ids[LEADER])
            db.add(StewardRow(catalogue_id=self.catalogue, account_id=self.ids[LEARNER]))
            for kind in GROUPS:
                group = GroupRow(public_id=kind, title=kind, is_paid=kind == "paid", made_at=MORNING)
                db.add(group)
                db.flush()
                db.add(MembershipRow(group_id=group.id, account_id=self.ids[LEADER], role="leader", since=MORNING))
            other = self._add_form(db, "Other", Rights("Bo Reed", CC0, "Bo Reed"), len(LINES))
            for number, line in enumerate(LINES):
                self._add_set(db, number, self._add_form(db, line.key, rights_of(line.key), number), other)

    def _add_form(self, db: Session, name: str, rights: Rights, number: int) -> int:
        form = add_form(db, name)
        db.add(CatalogueFormRow(catalogue_id=self.catalogue, form_id=form, key=f"form_{number}"))
        for use in USES:
            about = {"public_id": public_id(number, use), "owner_id": self.ids[LEARNER], "form_id": form, "rights": rights, "at": MORNING}
            kept = add_picture(db, self.storage, TAKEN, **about)  # type: ignore[arg-type]
            db.execute(update(PictureRow).where(PictureRow.id == kept).values(use=use))
            content = ALTERED.content + public_id(number, use).encode()  # no other picture's
            cut = FileRow(picture_id=kept, size_name="cut-large", rendition="cut", recipe=sha256(content).hexdigest()[:32])
            cut.storage_key, cut.media_type, cut.bytes = f"{public_id(number, use)}-cut.webp", "image/webp", len(content)
            cut.width_px, cut.height_px = ALTERED.width_px, ALTERED.height_px
            self.storage.put(cut.storage_key, content)
            db.add_all((cut, CataloguePictureRow(catalogue_id=self.catalogue, picture_id=kept, file=f"{number}-{use}.webp")))
        return form

    def _add_set(self, db: Session, number: int, *forms: int) -> None:
        pair = PairRow(first_form_id=min(forms), second_form_id=max(forms))
        pair_set = PairSetRow(id=number + 1, catalogue_id=self.catalogue, key=f"set-{number}", title=f"Set {number}")
        db.add_all((pair, pair_set))
        db.flush()
        stage = StageRow(pair_set_id=pair_set.id, place=0, title="One")
        held = CataloguePairRow(catalogue_id=self.catalogue, pair_id=pair.id, key=f"pair-{number}", place=number)
        db.add_all((stage, held))
        db.flush()
        db.add(StagePairRow(stage_id=stage.id, catalogue_pair_id=held.id))
        outing = OutingRow(id=number + 1, group_id=1, pair_set_id=pair_set.id, title="Out", day=MORNING.date() + timedelta(days=9))
        outing.made_at = outing.changed_at = MORNING
        asked = OpenQuestionRow(public_id=f"ask-{number}", group_id=1, pair_set_id=pair_set.id, title="What is it", zone="UTC", seed="seed")
        asked.feed_id, asked.first_day, asked.made_at = f"tag:{number}", MORNING.date() - timedelta(days=DAYS), MORNING
        db.add_all((outing, asked))

    def file(self, name: str, size: str) -> tuple[str, bytes]:
        with self.hall.store.look() as db:
            query = select(FileRow).join(PictureRow, PictureRow.id == FileRow.picture_id)
            row = db.scalars(query.where(PictureRow.public_id == name, FileRow.size_name == size)).one()
            return row.recipe, self.storage.get(row.storage_key)

    def shown(self, who: Visitor, pages: list[str], name: str) -> set[str]:
        """Return in which form pages show a picture ("large" as taken, "cut-large"), by the bytes behind every address they name."""
        sent = {self.file(name, size)[1]: size for size in ("large", "small", "cut-large")}
        found: set[str] = set()
        for address in {address for page in pages for address in re.findall(r"/(?:pictures|open)/[\w-]+/[\w-]+(?:/[0-9a-f]{32})?", page)}:
            if re.search(r"/[0-9a-f]{32}$", address) and (address.startswith("/open/") or name in address):
                answer = who.get(address)
                assert answer.status_code == 200, "a page names nothing that is refused"
                if answer.data in sent:
                    found.add(sent[answer.data].replace("small", "large"))
        return found


@pytest.fixture(scope="module")
def uses(tmp_path_factory: pytest.TempPathFactory) -> Iterator[UsesHall]:
    folder = tmp_path_factory.mktemp("uses")
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    bring_up_to_date(store)
    with light_hashing():
        made = UsesHall(open_hall(store, folder))
    yield made
    store.close()


def is_public(line: Line) -> bool:
    """Whether anybody at all may have it: an open licence, or a permission that says so; by hand, as the lines are."""
    return line.shown and line.key not in ("reserved for group", "permitted for group")


@pytest.mark.parametrize(("number", "line"), list(enumerate(LINES)), ids=[line.key for line in LINES])
def test_each_row_on_the_wall_on_paper_and_in_an_open_question(uses: UsesHall, number: int, line: Line) -> None:
    as_it_may = {"cut-large"} if line.altered else {"large"}
    for kind, allowed in (("club", line.shown), ("paid", line.paid)):
        walls = [uses.leader.get(f"/groups/{kind}/wall/{number + 1}?throw=0&at={at}") for at in (0, 1)]
        assert walls[0].status_code == 200
        assert uses.shown(uses.leader, [wall.text for wall in walls], public_id(number, "practice")) == (as_it_may if allowed else set())
    sheet = uses.leader.get(f"/groups/club/outings/{number + 1}/eve-sheet")
    assert sheet.status_code == 200
    assert uses.shown(uses.leader, [sheet.text], public_id(number, "portrait")) == (as_it_may if line.shown else set())
    days = [f"/open/ask-{number}/{(MORNING - timedelta(days=back)).date()}" for back in range(1, DAYS)]
    pages = [uses.visitor.get(day) for day in days]
    assert {page.status_code for page in pages} == {200 if is_public(line) else 404}
    name = public_id(number, "practice")
    assert uses.shown(uses.visitor, [page.text for page in pages], name) == (as_it_may if is_public(line) else set())
    hidden = [size for size in ("large", "cut-large") if not (is_public(line) and size in as_it_may)]
    assert {uses.visitor.get(f"{day}/{uses.file(name, size)[0]}").status_code for day in days for size in hidden} == {404}


def test_what_each_row_lets_leave_in_an_export(uses: UsesHall) -> None:
    expected = {f"{number}-{use}.webp": uses.file(public_id(number, use), "large")[1] for number in range(len(LINES) + 1) for use in USES}
    public = {f"{number}-{use}.webp" for number, line in enumerate(LINES) if is_public(line) for use in USES}
    public |= {f"{len(LINES)}-{use}.webp" for use in USES}
    for who, leaves in ((uses.leader, public), (uses.owner, set(expected))):
        answer = who.get("/catalogues/matrix/export")
        assert answer.status_code == 200
        content = answer.data
        answer.close()
        with ZipFile(BytesIO(content)) as archive:
            sent = {name.rpartition("/")[2]: archive.read(name) for name in archive.namelist() if name.endswith(".webp")}
        assert sent == {name: expected[name] for name in leaves}
    assert uses.visitor.get("/catalogues/matrix/export").status_code == 303
