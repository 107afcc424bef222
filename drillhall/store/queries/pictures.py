"""What the picture door reads: files with their rights, who holds them, an owner's pictures, and the forms that are known."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Select, bindparam, case, exists, func, or_, select
from sqlalchemy import Row as Result
from sqlalchemy.orm import Session

from drillhall.core.licences import read_licence
from drillhall.core.rights import Purpose, Rights
from drillhall.core.values import Form, Rendition
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePictureRow, CatalogueRow, PairSetRow, StewardRow
from drillhall.store.models.concepts import FormRow, NameRow, VernacularRow
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.models.practice import DrillRow, RoundRow, ShowingRow
from drillhall.store.queries.sets import is_hers


def rights_of(row: RightsRow) -> Rights:
    """Return the rights that a row keeps, as core judges them."""
    return Rights(
        creator=row.creator,
        licence=read_licence(row.licence_url or row.licence),
        credit=row.credit,
        rights_owner=row.rights_owner,
        source=row.source,
        title=row.title,
        statement=row.statement,
        agreed=frozenset(Purpose[name.upper()] for name in row.agreed.split()),
        until=row.may_until,
        granted_by=row.granted_by,
        granted_on=row.granted_on,
        evidence=row.evidence,
        data_mining=row.data_mining,
    )


def form_of(row: FormRow, name: str) -> Form:
    """Return the form that a row keeps, under a name."""
    return Form(row.id, name, "", sex=row.sex, life_stage=row.life_stage, plumage=row.plumage, variant=row.variant)


def find_file(db: Session, public_id: str, recipe: str) -> tuple[FileRow, PictureRow, RightsRow] | None:
    """Return a served file with its picture and rights, or None; the original is never among them."""
    query = (
        select(FileRow, PictureRow, RightsRow)
        .join(PictureRow, PictureRow.id == FileRow.picture_id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(PictureRow.public_id == public_id, FileRow.recipe == recipe, FileRow.size_name != "original")
    )
    found = db.execute(query).first()
    return (found[0], found[1], found[2]) if found else None


def packet_until(db: Session, account_id: int, picture_id: int, *, at: datetime) -> datetime | None:
    """Return until when the drill runs that somebody has open and in which a picture is shown; None where there is none."""
    query = (
        select(func.max(DrillRow.until))
        .join(RoundRow, RoundRow.drill_id == DrillRow.id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .where(ShowingRow.account_id == account_id, or_(ShowingRow.picture_id == picture_id, ShowingRow.beside_id == picture_id))
        .where(DrillRow.ended_at.is_(None), DrillRow.until > at)
    )
    return db.scalar(query)


def is_accepted(db: Session, picture_id: int) -> bool:
    """Whether a catalogue in use holds the picture."""
    return bool(db.scalar(select(_holding(picture_id).exists())))


def is_steward_of(db: Session, account_id: int, picture_id: int) -> bool:
    """Whether somebody is steward of a catalogue in use that holds the picture."""
    mine = _holding(picture_id).where(exists().where(StewardRow.catalogue_id == CatalogueRow.id, StewardRow.account_id == account_id))
    return bool(db.scalar(select(mine.exists())))


def _holding(picture_id: int) -> Select[int]:
    return (
        select(CatalogueRow.id)
        .join(CataloguePictureRow, CataloguePictureRow.catalogue_id == CatalogueRow.id)
        .where(CataloguePictureRow.picture_id == picture_id, CataloguePictureRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
    )


def own_pictures(db: Session, account_id: int, *, skip: int, most: int) -> list[tuple[PictureRow, RightsRow]]:
    """Return somebody's pictures that are not retired, the latest first."""
    query = (
        select(PictureRow, RightsRow)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(PictureRow.owner_id == account_id, PictureRow.retired_at.is_(None))
        .order_by(PictureRow.made_at.desc(), PictureRow.id.desc())
        .offset(skip)
        .limit(most)
    )
    return [(picture, rights) for picture, rights in db.execute(query)]


def has_own(db: Session, account_id: int, content_sha256: str) -> bool:
    """Whether somebody has a picture of the same bytes that is not retired."""
    query = exists().where(PictureRow.owner_id == account_id, PictureRow.content_sha256 == content_sha256, PictureRow.retired_at.is_(None))
    return bool(db.scalar(select(query)))


def find_own(db: Session, account_id: int, public_id: str) -> PictureRow | None:
    """Return somebody's picture that is not retired, or None."""
    query = select(PictureRow).where(PictureRow.owner_id == account_id, PictureRow.public_id == public_id, PictureRow.retired_at.is_(None))
    return db.scalar(query)


def served_files(db: Session, picture_ids: Sequence[int]) -> dict[int, list[FileRow]]:
    """Return the sizes of the whole picture that are served, by picture, from small to large."""
    return {
        picture_id: whole
        for picture_id, files in files_in_renditions(db, picture_ids).items()
        if (whole := [file for file in files if file.rendition == "as taken"])
    }


def files_in_renditions(db: Session, picture_ids: Sequence[int]) -> dict[int, list[FileRow]]:
    """Return all files that are served, of the whole as well as cut and altered, by picture, from small to large."""
    query = select(FileRow).where(FileRow.picture_id.in_(picture_ids), FileRow.size_name != "original").order_by(FileRow.width_px)
    found: dict[int, list[FileRow]] = {}
    for file in db.scalars(query):
        found.setdefault(file.picture_id, []).append(file)
    return found


class Stored(NamedTuple):
    """One served size of a picture, of the whole as well as cut and altered: what of its row an address and a page need."""

    picture_id: int
    id: int
    rendition: str
    recipe: str
    width_px: int
    height_px: int


def sizes_in_renditions(db: Session, picture_ids: Sequence[int]) -> dict[int, list[Stored]]:
    """Return what `files_in_renditions` does, without the rows: a drill shows hundreds of them."""
    found: dict[int, list[Stored]] = {}
    for row in db.execute(_sizes(), {"picture_ids": list(picture_ids)}):
        found.setdefault(row.picture_id, []).append(Stored(*row))
    return found


@cache
def _sizes() -> Select[Any]:
    of: tuple[Any, ...] = (FileRow.picture_id, FileRow.id, FileRow.rendition, FileRow.recipe, FileRow.width_px, FileRow.height_px)
    of_these = FileRow.picture_id.in_(bindparam("picture_ids", expanding=True))
    return select(*of).where(of_these, FileRow.size_name != "original").order_by(FileRow.width_px)


def renditions_kept(db: Session, picture_ids: Sequence[int]) -> dict[int, frozenset[Rendition]]:
    """Return in which renditions pictures are kept beside as taken; one that is not is left out."""
    altered = (Rendition.FAR_OFF.value, Rendition.SHAPE_ONLY.value)
    query = (
        select(FileRow.picture_id, FileRow.rendition).where(FileRow.picture_id.in_(picture_ids), FileRow.rendition.in_(altered)).distinct()
    )
    found: dict[int, frozenset[Rendition]] = {}
    for picture_id, rendition in db.execute(query):
        found[picture_id] = found.get(picture_id, frozenset()) | {Rendition(rendition)}
    return found


def titles_holding(db: Session, picture_ids: Sequence[int]) -> dict[int, list[str]]:
    """Return the titles of the catalogues in use that hold each picture."""
    query = (
        select(CataloguePictureRow.picture_id, CatalogueRow.title)
        .join(CatalogueRow, CatalogueRow.id == CataloguePictureRow.catalogue_id)
        .where(CataloguePictureRow.picture_id.in_(picture_ids), CataloguePictureRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
        .order_by(CatalogueRow.title)
    )
    found: dict[int, list[str]] = {}
    for picture_id, title in db.execute(query):
        found.setdefault(picture_id, []).append(title)
    return found


def catalogues_near(db: Session, account_id: int) -> list[int]:
    """Return the catalogues in use from which somebody drills a set or of which she is steward; all of them where there is none."""
    from_it = PairSetRow.catalogue_id == CatalogueRow.id
    taken = exists().where(from_it, is_hers(account_id))
    written = exists().where(StewardRow.catalogue_id == CatalogueRow.id, StewardRow.account_id == account_id)
    in_use = select(CatalogueRow.id).where(CatalogueRow.retired_at.is_(None)).order_by(CatalogueRow.title)
    return list(db.scalars(in_use.where(taken | written))) or list(db.scalars(in_use))


def forms_of_catalogues(db: Session, catalogue_ids: Sequence[int], language: str = "") -> Sequence[Result[str, str, FormRow, str]]:
    """Return the forms in use of some catalogues, in their order: catalogue title, its subject, the form, its name.

    Named in a language where the hall knows a name in it; without one, or in the catalogue's own, as the catalogue names it.
    """
    in_hers = _common_name(language, alone=True).where(CatalogueRow.language != language)
    of_concept = VernacularRow.concept_id == FormRow.concept_id
    in_language = select(func.min(VernacularRow.name)).where(of_concept, VernacularRow.language == CatalogueRow.language)
    chosen = select(VernacularRow.name).where(VernacularRow.id == CatalogueFormRow.vernacular_id)
    own = (chosen.scalar_subquery(), in_language.scalar_subquery(), _any_name(language), CatalogueFormRow.key)
    name = func.coalesce(*([in_hers.scalar_subquery()] if language else []), *own)
    query = (
        select(CatalogueRow.title, CatalogueRow.subject, FormRow, name)
        .join(CatalogueFormRow, CatalogueFormRow.catalogue_id == CatalogueRow.id)
        .join(FormRow, FormRow.id == CatalogueFormRow.form_id)
        .where(CatalogueRow.id.in_(catalogue_ids), CatalogueFormRow.retired_at.is_(None))
        .order_by(CatalogueRow.title, CatalogueRow.id, CatalogueFormRow.place, CatalogueFormRow.id)
    )
    return db.execute(query).all()


def forms_by_id(db: Session, form_ids: Sequence[int], language: str) -> dict[int, tuple[FormRow, str]]:
    """Return forms with a name for each, whatever catalogue says it: in a language, else in another, else its scientific one."""
    query = select(FormRow, func.coalesce(_any_name(language), "")).where(FormRow.id.in_(form_ids))
    return {form.id: (form, said) for form, said in db.execute(query)}


def tell_apart(db: Session, forms: Iterable[Form]) -> tuple[Form, ...]:
    """Return forms of a list to choose from; where two of them read alike there, the scientific name stands beside each."""
    listed, alike = tuple(forms), defaultdict(set)
    for form in listed:
        alike[form.name.casefold(), form.wears].add(form.id)
    unclear = [form_id for ids in alike.values() if len(ids) > 1 for form_id in sorted(ids)]
    if not unclear:
        return listed
    latin = select(FormRow.id, func.min(NameRow.scientific_name)).join(NameRow, NameRow.concept_id == FormRow.concept_id)
    names = dict(db.execute(latin.where(FormRow.id.in_(unclear)).group_by(FormRow.id)).all())
    return tuple(replace(form, name=f"{form.name} ({names[form.id]})") if form.id in names else form for form in listed)


def names_by_form(db: Session, form_ids: Sequence[int]) -> dict[int, set[str]]:
    """Return every name of forms: scientific ones and those in any language."""
    found: dict[int, set[str]] = {}
    for table, name in ((VernacularRow, VernacularRow.name), (NameRow, NameRow.scientific_name)):
        query = select(FormRow.id, name).join(table, table.concept_id == FormRow.concept_id).where(FormRow.id.in_(form_ids))
        for form_id, said in db.execute(query):
            found.setdefault(form_id, set()).add(said)
    return found


def _any_name(language: str) -> ColumnElement[str]:
    latin = select(func.min(NameRow.scientific_name)).where(NameRow.concept_id == FormRow.concept_id)
    return func.coalesce(_common_name(language).scalar_subquery(), latin.scalar_subquery())


def _common_name(language: str, *, alone: bool = False) -> Select[str]:
    """Return the query of one common name of a form: in a language, in that of a region of it, and unless `alone` in any other."""
    is_exact, is_near = VernacularRow.language == language, VernacularRow.language.like(f"{language}-%")
    query = select(VernacularRow.name).where(VernacularRow.concept_id == FormRow.concept_id)
    query = query.where(is_exact | is_near) if alone else query
    return query.order_by(case((is_exact, 0), (is_near, 1), else_=2), VernacularRow.id).limit(1)
