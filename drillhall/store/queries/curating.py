"""What the stewards of a catalogue read of its pictures: which it holds, which are alike, who made them, how they are drilled."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import NamedTuple

from sqlalchemy import ColumnElement, Select, String, and_, case, cast, exists, func, or_, select, true
from sqlalchemy.orm import Session

from drillhall.core.doubt import WEIGHTS
from drillhall.core.values import NEITHER, Form, Rendition
from drillhall.store.models.catalogue import (
    CataloguePairRow,
    CataloguePictureRow,
    CatalogueRow,
    PairSetRow,
    StewardRow,
)
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureOfferRow, PictureRow, PicturesApartRow, RightsRow
from drillhall.store.models.practice import AnswerRow, RoundRow, ShowingRow, SightRow
from drillhall.store.queries import log
from drillhall.store.queries import pictures as queries
from drillhall.store.queries.sets import is_hers
from drillhall.store.queries.sharing import may_be_drilled_by, runs_on


class LookedAt(NamedTuple):
    """What is compared of an accepted picture: its fingerprint, series, day, use and form."""

    id: int
    public_id: str
    fingerprint: int
    cluster: str
    taken_on: date | None
    use: str
    form_id: int | None


def accepted(catalogue_id: int) -> ColumnElement[bool]:
    """Whether a catalogue holds a picture that is not retired; for a query that joins CataloguePictureRow and PictureRow."""
    return and_(CataloguePictureRow.catalogue_id == catalogue_id, CataloguePictureRow.retired_at.is_(None), PictureRow.retired_at.is_(None))


def _within_reach(catalogue_id: int, account_id: int, on: date) -> ColumnElement[bool]:
    return and_(accepted(catalogue_id), may_be_drilled_by(account_id, accepted=true(), on=on))


def looked_at(db: Session, catalogue_id: int, account_id: int, *, on: date) -> list[LookedAt]:
    """Return what is compared of the pictures of a catalogue that somebody may be shown, in order."""
    query = (
        select(
            PictureRow.id,
            PictureRow.public_id,
            PictureRow.fingerprint,
            PictureRow.cluster,
            PictureRow.taken_on,
            PictureRow.use,
            PictureRow.form_id,
        )
        .join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(_within_reach(catalogue_id, account_id, on))
        .order_by(PictureRow.id)
    )
    return [LookedAt(*row) for row in db.execute(query)]


def told_apart(db: Session, catalogue_id: int) -> set[tuple[int, int]]:
    """Return the pairs of pictures of which a steward has said that they are two scenes, the lower id first."""
    query = select(PicturesApartRow.first_picture_id, PicturesApartRow.second_picture_id)
    return {(first, second) for first, second in db.execute(query.where(PicturesApartRow.catalogue_id == catalogue_id))}


def accepted_rows(
    db: Session, catalogue_id: int, account_id: int, *, on: date, which: ColumnElement[bool]
) -> list[tuple[PictureRow, RightsRow, CataloguePictureRow, str | None]]:
    """Return pictures of a catalogue that somebody may be shown, each with rights, its place in the catalogue and its owner's name."""
    query = (
        select(PictureRow, RightsRow, CataloguePictureRow, AccountRow.name)
        .join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .outerjoin(AccountRow, AccountRow.id == PictureRow.owner_id)
        .where(_within_reach(catalogue_id, account_id, on), which)
        .order_by(PictureRow.id)
    )
    return [(picture, rights, held, name) for picture, rights, held, name in db.execute(query)]


class DrilledPair(NamedTuple):
    """A pair of a catalogue, with its forms."""

    id: int
    first_form_id: int
    second_form_id: int


def pairs_of(db: Session, catalogue_id: int) -> list[DrilledPair]:
    """Return the pairs in use of a catalogue, in its order."""
    query = (
        select(PairRow.id, PairRow.first_form_id, PairRow.second_form_id)
        .join(CataloguePairRow, CataloguePairRow.pair_id == PairRow.id)
        .where(CataloguePairRow.catalogue_id == catalogue_id, CataloguePairRow.retired_at.is_(None))
        .order_by(CataloguePairRow.place, CataloguePairRow.id)
    )
    return [DrilledPair(*row) for row in db.execute(query)]


def forms_of(db: Session, catalogue_id: int) -> dict[int, Form]:
    """Return the forms in use of a catalogue, in its order, by id."""
    return {row.id: queries.form_of(row, name) for _, _, row, name in queries.forms_of_catalogues(db, [catalogue_id])}


def find_within_sight(db: Session, key: str, account_id: int) -> CatalogueRow | None:
    """Return the catalogue in use of that key where somebody is its steward or drills one of its sets, else None."""
    writes = exists().where(StewardRow.catalogue_id == CatalogueRow.id, StewardRow.account_id == account_id)
    takes = exists().where(
        PairSetRow.catalogue_id == CatalogueRow.id,
        PairSetRow.retired_at.is_(None),
        is_hers(account_id),
    )
    return db.scalar(select(CatalogueRow).where(CatalogueRow.key == key, CatalogueRow.retired_at.is_(None), or_(writes, takes)))


def held_views(db: Session, catalogue_id: int, *, on: date) -> list[tuple[int, str, str, str, str, str, int]]:
    """Return (form, use, orientation, pose, plumage, setting, how many) of the pictures that others than their owners are shown."""
    said = (PictureRow.form_id, PictureRow.use, PictureRow.orientation, PictureRow.pose, PictureRow.plumage, PictureRow.setting)
    query = (
        select(*said, func.count())
        .join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(accepted(catalogue_id), RightsRow.may_group, runs_on(on), PictureRow.form_id.is_not(None))
        .group_by(*said)
        .order_by(*said)
    )
    return [(form or 0, use, seen, pose, plumage, setting, int(n)) for form, use, seen, pose, plumage, setting, n in db.execute(query)]


def credited(db: Session, catalogue_id: int) -> list[tuple[str, str, str, int, int]]:
    """Return (maker, licence, its address, pictures, times drilled) of what a catalogue holds, the most pictures first."""
    sights = select(SightRow.picture_id, func.sum(SightRow.times).label("times")).group_by(SightRow.picture_id).subquery()
    said = (RightsRow.creator, RightsRow.licence, RightsRow.licence_url)
    query = (
        select(*said, func.count(), func.coalesce(func.sum(sights.c.times), 0))
        .join(PictureRow, PictureRow.id == RightsRow.picture_id)
        .join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        .outerjoin(sights, sights.c.picture_id == PictureRow.id)
        .where(accepted(catalogue_id))
        .group_by(*said)
        .order_by(func.count().desc(), *said)
    )
    return [(maker, licence, url, int(pictures), int(times)) for maker, licence, url, pictures, times in db.execute(query)]


def count_open_offers(db: Session, catalogue_id: int) -> int:
    """Return how many pictures that are not retired are offered to a catalogue and not decided on."""
    query = (
        select(func.count())
        .select_from(PictureOfferRow)
        .join(PictureRow, PictureRow.id == PictureOfferRow.picture_id)
        .where(PictureOfferRow.catalogue_id == catalogue_id, PictureOfferRow.decision == "", PictureRow.retired_at.is_(None))
    )
    return db.scalar(query) or 0


def contradicted(db: Session, catalogue_id: int, *, least: int) -> set[int]:
    """Return the pairs in whose rounds a picture was named by so many sure learners, and otherwise than labelled by a third of them."""
    told = _sure_answers(catalogue_id).subquery()
    learners = func.count(func.distinct(told.c.learner))
    otherwise = func.count(func.distinct(case((told.c.said != cast(told.c.label, String), told.c.learner))))
    query = select(told.c.pair).group_by(told.c.pair, told.c.picture).having(learners >= least, otherwise * 3 >= learners)
    return set(db.scalars(query))


class SureSaid(NamedTuple):
    """What one learner said of one picture in rounds of one pair, as a form's id or 0 for neither, and what it weighs."""

    pair: int
    picture: int
    learner: int
    label: int
    said: str
    weight: float


def sure_said(db: Session, catalogue_id: int, pair_ids: Collection[int]) -> list[SureSaid]:
    """Return what learners who were sure said of a catalogue's pictures in rounds of some pairs, one row a picture, learner and word."""
    told = _sure_answers(catalogue_id).where(RoundRow.pair_id.in_(pair_ids)).subquery()
    weight = func.sum(case({sure.value: weighs for sure, weighs in WEIGHTS.items()}, value=told.c.sure))
    said = (told.c.pair, told.c.picture, told.c.learner, told.c.label, told.c.said)
    query = select(*said, weight).group_by(*said).order_by(*said)
    return [SureSaid(*row[:4], str(row[4]), float(row[5])) for row in db.execute(query)]


def _sure_answers(catalogue_id: int) -> Select[int, int, int, int, str, str | None]:
    """Select what sure learners said, unaided, at first sight, of the pictures of a catalogue as they were taken.

    After the first sight a learner has been told the label, so what she says then is no witness. A picture whose label a steward has
    found right is judged by answers given since. A picture of neither form of the pair is labelled 0.
    """
    in_pair = PictureRow.form_id.in_((PairRow.first_form_id, PairRow.second_form_id))
    return (
        select(
            RoundRow.pair_id.label("pair"),
            ShowingRow.picture_id.label("picture"),
            AnswerRow.account_id.label("learner"),
            case((in_pair, PictureRow.form_id), else_=NEITHER).label("label"),
            log.SAID_NOW.label("said"),
            AnswerRow.sure.label("sure"),
        )
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(PairRow, PairRow.id == RoundRow.pair_id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .join(CataloguePictureRow, CataloguePictureRow.picture_id == PictureRow.id)
        .outerjoin(log.STANDING, log.NAMED_BEFORE)
        .where(
            accepted(catalogue_id),
            RoundRow.catalogue_id == catalogue_id,
            PictureRow.form_id.is_not(None),
            ShowingRow.first_sight,
            ShowingRow.prompted.is_(False),
            ShowingRow.rendition == Rendition.AS_TAKEN.value,
            AnswerRow.hint.is_(False),
            AnswerRow.sure.in_([sure.value for sure in WEIGHTS]),
            log.counts(),
            or_(CataloguePictureRow.checked_at.is_(None), AnswerRow.at > CataloguePictureRow.checked_at),
        )
    )
