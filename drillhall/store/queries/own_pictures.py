"""What the owner of pictures reads of them: which she has, which wait, what has been done with them, and where they are drilled."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import ColumnElement, and_, exists, func, or_, select
from sqlalchemy.orm import Session

from drillhall.core.values import Use
from drillhall.store.models.catalogue import (
    CataloguePairRow,
    CataloguePictureRow,
    CatalogueRow,
    PairSetRow,
    StagePairRow,
    StageRow,
    StewardRow,
)
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.pictures import FileRow, MarkRow, PictureRow, PictureShareRow, RightsRow
from drillhall.store.models.practice import AnswerRow, ShowingRow
from drillhall.store.queries.sets import is_hers

Mine = tuple[PictureRow, RightsRow]

IN_USE = PictureRow.retired_at.is_(None)
WAITING = and_(IN_USE, PictureRow.described_at.is_(None))
WITHDRAWN = PictureRow.retired_at.is_not(None)


def not_drilled() -> ColumnElement[bool]:
    """Whether a picture that is described is kept and not drilled, whatever the reason."""
    subject = exists().where(MarkRow.picture_id == PictureRow.id, MarkRow.trait_id.is_(None))
    unclear = and_(PictureRow.several, ~subject)
    why = or_(PictureRow.form_id.is_(None), PictureRow.use != Use.PRACTICE.value, unclear)
    return and_(IN_USE, PictureRow.described_at.is_not(None), why)


def list_mine(db: Session, account_id: int, which: ColumnElement[bool], *, skip: int = 0, most: int = 10_000) -> list[Mine]:
    """Return those of somebody's pictures of which a condition holds, the latest first."""
    query = (
        select(PictureRow, RightsRow)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(PictureRow.owner_id == account_id, which)
        .order_by(PictureRow.made_at.desc(), PictureRow.id.desc())
        .offset(skip)
        .limit(most)
    )
    return [(picture, rights) for picture, rights in db.execute(query)]


def count_mine(db: Session, account_id: int, which: ColumnElement[bool]) -> int:
    """Return of how many of somebody's pictures a condition holds."""
    return db.scalar(select(func.count()).select_from(PictureRow).where(PictureRow.owner_id == account_id, which)) or 0


def named(public_ids: Iterable[str]) -> ColumnElement[bool]:
    """Whether a picture is one of those named."""
    return PictureRow.public_id.in_(list(public_ids))


def known_bytes(db: Session, account_id: int, digests: Iterable[str]) -> dict[str, str]:
    """Return, of some SHA-256, those whose very bytes somebody has in use, with the name of her picture."""
    query = select(PictureRow.content_sha256, PictureRow.public_id).where(
        PictureRow.owner_id == account_id, IN_USE, PictureRow.content_sha256.in_(list(digests))
    )
    return {row.content_sha256: row.public_id for row in db.execute(query)}


def forms_of_mine(db: Session, account_id: int) -> dict[int, int]:
    """Return the forms that somebody's pictures in use are said to show, with how many of each are for practice."""
    is_practice = func.count(PictureRow.id).filter(PictureRow.use == Use.PRACTICE.value)
    query = (
        select(PictureRow.form_id, is_practice)
        .where(PictureRow.owner_id == account_id, IN_USE, PictureRow.form_id.is_not(None))
        .group_by(PictureRow.form_id)
    )
    return {form_id: count for form_id, count in db.execute(query) if form_id is not None}


def with_answers(db: Session, picture_ids: Iterable[int]) -> set[int]:
    """Return those pictures on which somebody has answered."""
    wanted, found = list(picture_ids), set[int]()
    for place in (ShowingRow.picture_id, ShowingRow.beside_id):
        query = select(place).join(AnswerRow, AnswerRow.showing_id == ShowingRow.id).where(place.in_(wanted)).distinct()
        found.update(one for one in db.scalars(query) if one is not None)
    return found


def settled_by_others(db: Session, account_id: int, picture_ids: Iterable[int]) -> set[int]:
    """Return those pictures that a catalogue in use holds of which somebody is no steward: its stewards say what they are used for."""
    hers = select(StewardRow.catalogue_id).where(StewardRow.account_id == account_id)
    query = (
        select(CataloguePictureRow.picture_id)
        .join(CatalogueRow, CatalogueRow.id == CataloguePictureRow.catalogue_id)
        .where(
            CataloguePictureRow.picture_id.in_(list(picture_ids)),
            CataloguePictureRow.retired_at.is_(None),
            CatalogueRow.retired_at.is_(None),
            CatalogueRow.id.not_in(hers),
        )
    )
    return set(db.scalars(query))


def files_of(db: Session, picture_id: int) -> list[FileRow]:
    """Return every file of a picture, the one as it came among them."""
    return list(db.scalars(select(FileRow).where(FileRow.picture_id == picture_id).order_by(FileRow.width_px)))


def originals_of(db: Session, account_id: int) -> list[FileRow]:
    """Return the files of somebody's pictures that are kept as they came."""
    query = select(FileRow).join(PictureRow, PictureRow.id == FileRow.picture_id)
    return list(db.scalars(query.where(PictureRow.owner_id == account_id, FileRow.size_name == "original")))


def groups_seeing(db: Session, picture_ids: Iterable[int]) -> dict[int, list[str]]:
    """Return the titles of the groups that each picture is shared with."""
    query = (
        select(PictureShareRow.picture_id, GroupRow.title)
        .join(GroupRow, GroupRow.id == PictureShareRow.group_id)
        .where(PictureShareRow.picture_id.in_(list(picture_ids)), PictureShareRow.ended_at.is_(None), GroupRow.retired_at.is_(None))
        .order_by(GroupRow.title)
    )
    found: dict[int, list[str]] = {}
    for picture_id, title in db.execute(query):
        found.setdefault(picture_id, []).append(title)
    return found


def sets_with_forms(db: Session, account_id: int, form_ids: Sequence[int]) -> list[tuple[int, int, str, bool]]:
    """Return (form, set, its title, whether somebody drills it) for each pair set in use with a pair of each form."""
    of_form = PairRow.first_form_id, PairRow.second_form_id
    taken = is_hers(account_id)
    found: dict[tuple[int, int], tuple[str, bool]] = {}
    for form in of_form:
        query = (
            select(form, PairSetRow.id, PairSetRow.title, taken)
            .join(CataloguePairRow, CataloguePairRow.pair_id == PairRow.id)
            .join(StagePairRow, StagePairRow.catalogue_pair_id == CataloguePairRow.id)
            .join(StageRow, StageRow.id == StagePairRow.stage_id)
            .join(PairSetRow, PairSetRow.id == StageRow.pair_set_id)
            .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
            .where(
                form.in_(form_ids),
                CataloguePairRow.retired_at.is_(None),
                PairSetRow.retired_at.is_(None),
                CatalogueRow.retired_at.is_(None),
            )
        )
        found |= {(form_id, set_id): (title, is_taken) for form_id, set_id, title, is_taken in db.execute(query)}
    return [(form_id, set_id, title, is_taken) for (form_id, set_id), (title, is_taken) in sorted(found.items())]
