"""The SQL conditions of whom a picture reaches, against the verdicts of core: every licence, agreement, reach and viewer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import chain, combinations

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.licences import ALL_RIGHTS_RESERVED, LICENCES, WITH_PERMISSION
from drillhall.core.rights import ASKED, Purpose, Rights, may
from drillhall.pictures.ingest import rights_row
from drillhall.store.models.catalogue import CataloguePictureRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.pictures import PictureRow, PictureShareRow
from drillhall.store.models.pictures import RightsRow as StoredRights
from drillhall.store.queries.sharing import is_shared_with, may_be_drilled_by
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, add_account, add_catalogue

DAY, YESTERDAY = date(2031, 5, 4), date(2031, 5, 3)
REACHES = ("nobody", "catalogue", "group", "paid group", "ended")


@dataclass(frozen=True, slots=True)
class Case:
    """A picture of certain rights that reaches somebody in one way."""

    rights: Rights
    reach: str


def cases() -> Iterator[Case]:
    for licence in (None, *LICENCES.values()):
        closed = licence in (ALL_RIGHTS_RESERVED, WITH_PERMISSION)
        agreements = chain.from_iterable(combinations(ASKED, count) for count in range(len(ASKED) + 1)) if closed else [()]
        for agreed in agreements:
            for until in (None, DAY, YESTERDAY) if licence == WITH_PERMISSION else (None,):
                rights = Rights("Ada Mudd", licence, "Ada Mudd", agreed=frozenset(agreed), until=until)
                yield from (Case(rights, reach) for reach in REACHES)


def keep(db: Session, owner_id: int, catalogue_id: int, groups: dict[str, int]) -> dict[int, Case]:
    kept = {}
    for number, case in enumerate(cases()):
        row = PictureRow(
            public_id=f"picture-{number}", owner_id=owner_id, width_px=1, height_px=1, content_sha256="", fingerprint=0, made_at=NOW
        )
        db.add(row)
        db.flush()
        rights = rights_row(case.rights)
        rights.picture_id = row.id
        db.add(rights)
        if case.reach == "catalogue":
            db.add(CataloguePictureRow(catalogue_id=catalogue_id, picture_id=row.id, file=f"{number}.jpg"))
        elif case.reach != "nobody":
            ended_at = NOW if case.reach == "ended" else None
            db.add(PictureShareRow(picture_id=row.id, group_id=groups.get(case.reach, groups["group"]), shared_at=NOW, ended_at=ended_at))
        kept[row.id] = case
    return kept


def expected(case: Case, *, owner_id: int, viewer_id: int, is_member: bool) -> bool:
    if viewer_id == owner_id:
        return may(case.rights, owner_id=owner_id, viewer_id=viewer_id, purpose=Purpose.OWN, on=DAY).allowed
    reached = case.reach == "catalogue" or (is_member and case.reach in ("group", "paid group"))
    purpose = Purpose.PAID if case.reach == "paid group" else Purpose.GROUP
    return may(case.rights, owner_id=owner_id, viewer_id=viewer_id, purpose=purpose, on=DAY, is_reached=reached).allowed


def test_what_sql_lets_through_is_what_core_allows(store: Store) -> None:
    with store.work() as db:
        owner, member, other = (add_account(db, name) for name in ("owner", "member", "other"))
        catalogue = add_catalogue(db)
        groups = {}
        for name in ("group", "paid group"):
            group = GroupRow(public_id=name, title=name, is_paid=name == "paid group", made_at=NOW)
            db.add(group)
            db.flush()
            db.add(MembershipRow(group_id=group.id, account_id=member, since=NOW))
            groups[name] = group.id
        kept = keep(db, owner, catalogue, groups)
    assert len(kept) > 400
    with store.look() as db:
        for viewer in (owner, member, other):
            accepted = PictureRow.id.in_(select(CataloguePictureRow.picture_id).where(CataloguePictureRow.catalogue_id == catalogue))
            condition = may_be_drilled_by(viewer, accepted=accepted, on=DAY)
            query = select(PictureRow.id).join(StoredRights, StoredRights.picture_id == PictureRow.id).where(condition)
            told = set(db.scalars(query))
            wanted = {id_ for id_, case in kept.items() if expected(case, owner_id=owner, viewer_id=viewer, is_member=viewer == member)}
            assert told == wanted, {kept[id_] for id_ in told ^ wanted}
            assert told


def test_a_share_ends_with_the_membership(store: Store) -> None:
    with store.work() as db:
        owner, member = (add_account(db, name) for name in ("owner", "member"))
        group = GroupRow(public_id="group", title="Flats Club", made_at=NOW)
        picture = PictureRow(public_id="one", owner_id=owner, width_px=1, height_px=1, content_sha256="", fingerprint=0, made_at=NOW)
        db.add_all((group, picture))
        db.flush()
        rights = rights_row(Rights("Ada Mudd", LICENCES["CC-BY-4.0"], "Ada Mudd"))
        rights.picture_id = picture.id
        membership = MembershipRow(group_id=group.id, account_id=member, since=NOW)
        db.add_all((rights, membership, PictureShareRow(picture_id=picture.id, group_id=group.id, shared_at=NOW)))
        db.flush()
        assert is_shared_with(db, member, picture.id)
        membership.until = NOW
        db.flush()
        assert not is_shared_with(db, member, picture.id)
