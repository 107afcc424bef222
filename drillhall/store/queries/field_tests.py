"""What is read of field tests: held-out pictures that may be asked, who has seen them, tests with their questions, and sittings."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import ColumnElement, and_, exists, func, literal, or_, select, union
from sqlalchemy.orm import Session

from drillhall.core.values import Use
from drillhall.store.models.catalogue import CataloguePictureRow, StewardRow
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.field_tests import (
    FieldTestExtraRow,
    FieldTestPairRow,
    FieldTestQuestionRow,
    FieldTestRow,
    SittingItemRow,
    SittingRow,
)
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.pictures import MarkRow, PictureRow, RightsRow
from drillhall.store.models.practice import SightRow
from drillhall.store.queries.sets import LEARNS
from drillhall.store.queries.sharing import runs_on


class QuestionRead(NamedTuple):
    """A question with its picture, and the forms of the pair it asks about."""

    question: FieldTestQuestionRow
    picture: PictureRow
    first_form_id: int
    second_form_id: int


def held_out(db: Session, catalogue_id: int, form_ids: Iterable[int], *, is_paid: bool, on: date) -> list[PictureRow]:
    """Return the held-out pictures of some forms that a group may be asked on a day, by id."""
    query = (
        select(PictureRow)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(PictureRow.form_id.in_(list(form_ids)), _may_be_asked(catalogue_id, is_paid=is_paid, on=on))
        .order_by(PictureRow.id)
    )
    return list(db.scalars(query))


def ids_that_may_be_asked(db: Session, catalogue_id: int, picture_ids: Iterable[int], *, is_paid: bool, on: date) -> set[int]:
    """Return those of some pictures that a group may be asked on a day."""
    query = (
        select(PictureRow.id)
        .join(RightsRow, RightsRow.picture_id == PictureRow.id)
        .where(PictureRow.id.in_(list(picture_ids)), _may_be_asked(catalogue_id, is_paid=is_paid, on=on))
    )
    return set(db.scalars(query))


def _may_be_asked(catalogue_id: int, *, is_paid: bool, on: date) -> ColumnElement[bool]:
    """Whether a catalogue holds a picture out for tests and its rights let a group see it; the query must have RightsRow."""
    accepted = exists().where(
        CataloguePictureRow.picture_id == PictureRow.id,
        CataloguePictureRow.catalogue_id == catalogue_id,
        CataloguePictureRow.retired_at.is_(None),
    )
    subject = exists().where(MarkRow.picture_id == PictureRow.id, MarkRow.trait_id.is_(None))
    return and_(
        PictureRow.use == Use.HELD_OUT.value,
        PictureRow.retired_at.is_(None),
        PictureRow.described_at.is_not(None),
        or_(PictureRow.several.is_(False), subject),
        accepted,
        RightsRow.may_group,
        runs_on(on),
        or_(RightsRow.may_paid, literal(not is_paid)),
    )


def tests_on_pairs(db: Session, pair_ids: Collection[int], *, not_of: int, over_by: datetime, limit: int) -> list[FieldTestRow]:
    """Return the latest tests that were over by a moment, of other groups, that asked of some of these pairs and of no others."""
    beside = exists().where(FieldTestPairRow.field_test_id == FieldTestRow.id, FieldTestPairRow.pair_id.not_in(pair_ids))
    asks = exists().where(FieldTestPairRow.field_test_id == FieldTestRow.id, FieldTestPairRow.pair_id.in_(pair_ids))
    query = select(FieldTestRow).where(FieldTestRow.group_id != not_of, FieldTestRow.until <= over_by, FieldTestRow.retired_at.is_(None))
    return list(db.scalars(query.where(asks, ~beside).order_by(FieldTestRow.until.desc(), FieldTestRow.id.desc()).limit(limit)))


def seen_by(db: Session, picture_ids: Collection[int], account_ids: Collection[int], *, not_in: int | None = None) -> dict[int, set[int]]:
    """Return which of some people have seen each of some pictures, in a drill or in a sitting, of any test but one, by picture."""
    sat = (
        select(FieldTestQuestionRow.picture_id, SittingRow.account_id)
        .join(SittingItemRow, SittingItemRow.question_id == FieldTestQuestionRow.id)
        .join(SittingRow, SittingRow.id == SittingItemRow.sitting_id)
        .where(FieldTestQuestionRow.picture_id.in_(picture_ids), SittingRow.account_id.in_(account_ids))
        .where(SittingItemRow.seen_at.is_not(None), SittingRow.field_test_id.is_distinct_from(not_in))
    )
    drilled = select(SightRow.picture_id, SightRow.account_id).where(
        SightRow.picture_id.in_(picture_ids), SightRow.account_id.in_(account_ids)
    )
    found: dict[int, set[int]] = {}
    for picture_id, account_id in db.execute(union(sat, drilled)):
        found.setdefault(picture_id, set()).add(account_id)
    return found


def tests_of_group(db: Session, group_id: int) -> Sequence[FieldTestRow]:
    """Return a group's tests, those called off as well, the latest first."""
    query = select(FieldTestRow).where(FieldTestRow.group_id == group_id)
    return db.scalars(query.order_by(FieldTestRow.opens_at.desc(), FieldTestRow.id.desc())).all()


def tests_for(db: Session, account_id: int) -> list[tuple[FieldTestRow, GroupRow, str]]:
    """Return the tests, those called off left out, of the groups that somebody is in, with the group and her role, the latest first."""
    query = (
        select(FieldTestRow, GroupRow, MembershipRow.role)
        .join(GroupRow, GroupRow.id == FieldTestRow.group_id)
        .join(MembershipRow, MembershipRow.group_id == GroupRow.id)
        .where(MembershipRow.account_id == account_id, MembershipRow.until.is_(None), GroupRow.retired_at.is_(None))
        .where(FieldTestRow.retired_at.is_(None))
        .order_by(FieldTestRow.opens_at.desc(), FieldTestRow.id.desc())
    )
    return [(test, group, role) for test, group, role in db.execute(query)]


def find_test_for(db: Session, account_id: int, test_id: int, *, lock: bool = False) -> tuple[FieldTestRow, GroupRow, str] | None:
    """Return a test of a group that somebody is in, with the group and her role, or None; `lock` lets others wait for its row."""
    query = (
        select(FieldTestRow, GroupRow, MembershipRow.role)
        .join(GroupRow, GroupRow.id == FieldTestRow.group_id)
        .join(MembershipRow, MembershipRow.group_id == GroupRow.id)
        .where(MembershipRow.account_id == account_id, MembershipRow.until.is_(None), GroupRow.retired_at.is_(None))
        .where(FieldTestRow.id == test_id, FieldTestRow.retired_at.is_(None))
    )
    found = db.execute(query.with_for_update(of=FieldTestRow) if lock else query).first()
    return (found[0], found[1], found[2]) if found else None


def questions(db: Session, test_id: int) -> list[QuestionRead]:
    """Return a test's questions in their order, dropped ones as well."""
    query = (
        select(FieldTestQuestionRow, PictureRow, PairRow.first_form_id, PairRow.second_form_id)
        .join(PictureRow, PictureRow.id == FieldTestQuestionRow.picture_id)
        .join(PairRow, PairRow.id == FieldTestQuestionRow.pair_id)
        .where(FieldTestQuestionRow.field_test_id == test_id)
        .order_by(FieldTestQuestionRow.place)
    )
    return [QuestionRead(*row) for row in db.execute(query)]


def count_questions(db: Session, test_ids: Collection[int]) -> dict[int, int]:
    """Return how many questions each of some tests has, dropped ones as well."""
    query = (
        select(FieldTestQuestionRow.field_test_id, func.count())
        .where(FieldTestQuestionRow.field_test_id.in_(test_ids))
        .group_by(FieldTestQuestionRow.field_test_id)
    )
    return {row[0]: row[1] for row in db.execute(query)}


def count_sittings(db: Session, test_ids: Collection[int]) -> dict[int, int]:
    """Return how many sittings of each of some tests were begun."""
    query = select(SittingRow.field_test_id, func.count()).where(SittingRow.field_test_id.in_(test_ids)).group_by(SittingRow.field_test_id)
    return {row[0]: row[1] for row in db.execute(query)}


def pairs_asked(db: Session, test_id: int) -> Sequence[FieldTestPairRow]:
    """Return the pairs of a test in order."""
    return db.scalars(select(FieldTestPairRow).where(FieldTestPairRow.field_test_id == test_id).order_by(FieldTestPairRow.place)).all()


def extras(db: Session, test_id: int) -> dict[int, int | None]:
    """Return who has more time in a test: percent beyond the others' by account, None for no limit."""
    query = select(FieldTestExtraRow.account_id, FieldTestExtraRow.percent).where(FieldTestExtraRow.field_test_id == test_id)
    return {row[0]: row[1] for row in db.execute(query)}


def latest_extras(db: Session, group_id: int) -> dict[int, int | None]:
    """Return who had more time in the group's latest test."""
    latest = db.scalar(select(func.max(FieldTestRow.id)).where(FieldTestRow.group_id == group_id))
    return extras(db, latest) if latest is not None else {}


def sittings(db: Session, test_id: int) -> Sequence[SittingRow]:
    """Return all sittings of a test, by person and number."""
    query = select(SittingRow).where(SittingRow.field_test_id == test_id)
    return db.scalars(query.order_by(SittingRow.account_id, SittingRow.number)).all()


def sittings_of(db: Session, account_id: int, test_ids: Collection[int]) -> Sequence[SittingRow]:
    """Return somebody's sittings of some tests, in the order they were begun."""
    query = select(SittingRow).where(SittingRow.account_id == account_id, SittingRow.field_test_id.in_(test_ids))
    return db.scalars(query.order_by(SittingRow.begun_at, SittingRow.number)).all()


def find_sitting(db: Session, account_id: int, sitting_id: str, *, lock: bool = False) -> SittingRow | None:
    """Return somebody's sitting, or None; `lock` lets others wait for its row."""
    query = select(SittingRow).where(SittingRow.id == sitting_id, SittingRow.account_id == account_id)
    return db.scalar(query.with_for_update() if lock else query)


def items(db: Session, sitting_ids: Collection[str]) -> Sequence[SittingItemRow]:
    """Return the questions of some sittings, each sitting's in its order."""
    query = select(SittingItemRow).where(SittingItemRow.sitting_id.in_(sitting_ids))
    return db.scalars(query.order_by(SittingItemRow.sitting_id, SittingItemRow.place)).all()


def knows_pictures(db: Session, account_id: int, catalogue_id: int, picture_ids: Collection[int]) -> bool:
    """Whether somebody writes the catalogue, has added one of some pictures herself, or has led a group whose test asked one of them."""
    writes = select(StewardRow.account_id).where(StewardRow.catalogue_id == catalogue_id, StewardRow.account_id == account_id)
    owned = select(PictureRow.owner_id).where(PictureRow.id.in_(picture_ids), PictureRow.owner_id == account_id)
    led = (
        select(MembershipRow.account_id)
        .join(FieldTestRow, FieldTestRow.group_id == MembershipRow.group_id)
        .join(FieldTestQuestionRow, FieldTestQuestionRow.field_test_id == FieldTestRow.id)
        .where(MembershipRow.account_id == account_id, MembershipRow.role != LEARNS)
        .where(or_(MembershipRow.until.is_(None), MembershipRow.until > FieldTestRow.made_at))
        .where(FieldTestQuestionRow.picture_id.in_(picture_ids))
    )
    return db.scalar(select(or_(exists(writes), exists(owned), exists(led)))) is True
