"""What each kind of viewer gets of a picture of each row of the matrix, over HTTP: status and bytes, as taken and altered."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from uuid import UUID

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.licences import ALL_RIGHTS_RESERVED, LICENCES, WITH_PERMISSION, read_licence
from drillhall.core.rights import Purpose, Rights
from drillhall.pictures.ingest import ORIGINAL, add_picture, take
from drillhall.pictures.storage import FolderStorage
from drillhall.store.migrating import bring_up_to_date
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import FileRow, PictureRow, PictureShareRow
from drillhall.store.session import Store
from tests.cast import KEEPER, LEADER, LEARNER, STRANGER, TEACHER
from tests.hashing import light_hashing
from tests.pictures.drawn import NOW, accept, add_catalogue, noise, saved, scene
from tests.visits import Hall, Visitor, open_hall

OWNER, MEMBER, STEWARD, KEEPS, OUTSIDE, VISITOR = "owner", "member", "steward", "keeper", "outside", "visitor"
PEOPLE = {OWNER: LEARNER, MEMBER: TEACHER, STEWARD: LEADER, KEEPS: KEEPER, OUTSIDE: STRANGER}
SIGNED_IN = frozenset(PEOPLE)
NOBODY: frozenset[str] = frozenset()
HERS = frozenset({OWNER})
GROUP = frozenset({OWNER, MEMBER})


@dataclass(frozen=True, slots=True)
class Line:
    """A row of the matrix by hand: may others see it, may she alter it, may others see it altered, may a paid group."""

    key: str
    shown: bool
    altered_by_her: bool
    altered: bool
    paid: bool


# Source: the licence texts, by the sections named in tests/checks/test_licences.py; the last six are this hall's careful rule.
OPEN_LINES = tuple(
    Line(key, *(letter == "y" for letter in row))
    for family, of_4, before in (
        ("BY", "yyyy", "yyyy"),
        ("BY-SA", "yyyy", "yyyy"),
        ("BY-NC", "yyyn", "yyyn"),
        ("BY-NC-SA", "yyyn", "yyyn"),
        ("BY-ND", "yyny", "ynny"),
        ("BY-NC-ND", "yynn", "ynnn"),
    )
    for key, row in [(f"CC-{family}-4.0", of_4), *((f"CC-{family}-{version}", before) for version in ("2.0", "3.0"))]
)
LINES = (
    Line("CC0-1.0", True, True, True, True),
    Line("CC-PDM-1.0", True, True, True, True),
    *OPEN_LINES,
    Line("CC-BY-SA-2.0-UK", True, True, True, True),
    Line("CC-BY-NC-ND-3.0-DE", True, False, False, False),
    Line("reserved", False, True, False, False),
    Line("reserved for group", True, True, False, False),
    Line("permitted", False, False, False, False),
    Line("permitted for group", True, False, False, False),
    Line("permitted for all", True, True, True, True),
    Line("unknown", False, False, False, False),
)
AGREED = {
    "reserved": (ALL_RIGHTS_RESERVED, ()),
    "reserved for group": (ALL_RIGHTS_RESERVED, (Purpose.GROUP,)),
    "permitted": (WITH_PERMISSION, ()),
    "permitted for group": (WITH_PERMISSION, (Purpose.GROUP,)),
    "permitted for all": (WITH_PERMISSION, (Purpose.GROUP, Purpose.PUBLIC, Purpose.ALTERED, Purpose.PAID)),
    "unknown": (None, ()),
}
TAKEN = take(saved(scene()))
ALTERED = take(saved(noise(300, 200)), keep_original=False).sizes[0]


def rights_of(key: str) -> Rights:
    licence, agreed = AGREED.get(key) or (read_licence(key), ())
    assert licence is not None or key == "unknown"
    return Rights("Ada Mudd", licence, "Ada Mudd", agreed=frozenset(agreed), evidence="Its age." if key == "CC-PDM-1.0" else "")


def public_id(number: int, reach: str) -> str:
    return str(UUID(int=number * 16 + ("nobody", "group", "paid group", "catalogue").index(reach), version=4))


class MatrixHall:
    """A hall with a picture of every row in every reach: hers alone, shared with a group, with a paid one, in a catalogue."""

    def __init__(self, hall: Hall) -> None:
        self.hall, self.storage = hall, FolderStorage(hall.folder / "pictures")
        self.visitors: dict[str, Visitor] = {kind: hall.enter(one, is_keeper=one is KEEPER) for kind, one in PEOPLE.items()}
        self.visitors[VISITOR] = hall.visitor()
        with hall.store.work() as db:
            self.ids = {kind: db.scalars(select(AccountRow.id).where(AccountRow.name == one.name)).one() for kind, one in PEOPLE.items()}
            self.catalogue = add_catalogue(db, steward_id=self.ids[STEWARD])
            self.groups = {reach: self._add_group(db, reach) for reach in ("group", "paid group")}
            for number, line in enumerate(LINES):
                for reach in ("nobody", "group", "paid group", "catalogue"):
                    self._add(db, rights_of(line.key), public_id(number, reach), reach)

    def _add_group(self, db: Session, reach: str) -> int:
        group = GroupRow(public_id=reach, title=reach, is_paid=reach == "paid group", made_at=NOW)
        db.add(group)
        db.flush()
        for kind in (OWNER, MEMBER):
            db.add(MembershipRow(group_id=group.id, account_id=self.ids[kind], since=NOW))
        return group.id

    def _add(self, db: Session, rights: Rights, name: str, reach: str) -> None:
        taken = TAKEN if reach == "catalogue" else replace(TAKEN, sizes=TAKEN.sizes[:1], original=None)
        kept = add_picture(db, self.storage, taken, public_id=name, owner_id=self.ids[OWNER], form_id=None, rights=rights, at=NOW)
        cut = FileRow(picture_id=kept, size_name="cut-large", rendition="cut", recipe=ALTERED.recipe, storage_key=f"{name}-cut.webp")
        cut.media_type, cut.width_px, cut.height_px, cut.bytes = "image/webp", ALTERED.width_px, ALTERED.height_px, len(ALTERED.content)
        self.storage.put(cut.storage_key, ALTERED.content)
        db.add(cut)
        if reach in self.groups:
            db.add(PictureShareRow(picture_id=kept, group_id=self.groups[reach], shared_at=NOW))
        if reach == "catalogue":
            accept(db, self.catalogue, kept)

    def who_gets(self, name: str, size: str) -> frozenset[str]:
        """Return who gets a size, having checked that they get its very bytes, and the others none of them."""
        with self.hall.store.look() as db:
            query = select(FileRow).join(PictureRow, PictureRow.id == FileRow.picture_id)
            file = db.scalars(query.where(PictureRow.public_id == name, FileRow.size_name == size)).one()
            address, content = f"/pictures/{name}/{file.recipe}", self.storage.get(file.storage_key)
        got = set()
        for kind, visitor in self.visitors.items():
            answer = visitor.get(address)
            if answer.status_code == 200:
                assert answer.data == content
                got.add(kind)
            else:
                assert answer.status_code == (303 if kind == VISITOR else 404)
                assert content not in answer.data
                assert not re.search(rb"RIFF....WEBP", answer.data, re.DOTALL)
        return frozenset(got)


@pytest.fixture(scope="module")
def matrix(tmp_path_factory: pytest.TempPathFactory) -> Iterator[MatrixHall]:
    folder = tmp_path_factory.mktemp("matrix")
    store = Store(f"sqlite:///{folder / 'hall.sqlite'}")
    bring_up_to_date(store)
    with light_hashing():
        made = MatrixHall(open_hall(store, folder))
    yield made
    store.close()


@pytest.mark.parametrize(("number", "line"), list(enumerate(LINES)), ids=[line.key for line in LINES])
def test_each_row_of_the_matrix(matrix: MatrixHall, number: int, line: Line) -> None:
    hers_altered = HERS if line.altered_by_her else NOBODY
    expected = {
        "nobody": (HERS, hers_altered),
        "group": (GROUP if line.shown else HERS, GROUP if line.altered else hers_altered),
        "paid group": (GROUP if line.paid else HERS, GROUP if line.altered and line.paid else hers_altered),
        "catalogue": (SIGNED_IN if line.shown else HERS, SIGNED_IN if line.altered else hers_altered),
    }
    for reach, (as_taken, altered) in expected.items():
        name = public_id(number, reach)
        assert matrix.who_gets(name, "large") == as_taken, reach
        assert matrix.who_gets(name, "cut-large") == altered, reach
    assert matrix.who_gets(name, "small") == as_taken
    assert matrix.who_gets(name, ORIGINAL) == NOBODY


def test_the_lines_are_the_whole_matrix() -> None:
    kept = {line.key for line in LINES}
    # Versions 1.0 and 2.5 stand in core's matrix with the rows of 2.0.
    open_ones = {key for key in LICENCES if not key.startswith("LicenseRef") and not key.endswith(("-1.0", "-2.5"))}
    open_ones |= {"CC0-1.0", "CC-PDM-1.0"}
    assert kept == open_ones | set(AGREED) | {"CC-BY-SA-2.0-UK", "CC-BY-NC-ND-3.0-DE"}
