"""What weak spots are read from: the pairs that a group is given, sums of its learners' tallies, and prompts asked of a few pairs."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Select, case, func, literal, select, union_all
from sqlalchemy.orm import Session

from drillhall.store.models.catalogue import CataloguePairRow, CatalogueRow, PairSetRow, StagePairRow, StageRow
from drillhall.store.models.concepts import FormRow, PairRow
from drillhall.store.models.groups import MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow, TallyRow
from drillhall.store.models.seasons import AssignmentRow
from drillhall.store.queries.log import NAMED_BEFORE, SAID_NOW, STANDING, counts
from drillhall.store.queries.sets import LEARNS


class GivenPair(NamedTuple):
    """A pair of a set that a group is given, in a stage of it; forms in the pair's order."""

    assignment_id: int
    set_title: str
    stage: int
    stage_title: str
    pair_id: int
    first_form_id: int
    second_form_id: int
    catalogue_id: int


class LearnerOf(NamedTuple):
    """Somebody who learns in a group now; `id` names her membership."""

    id: int
    account_id: int
    name: str
    since: datetime
    lets_leader_see: bool


class Sum(NamedTuple):
    """How many `times` one learner called a form of a pair what: `fresh` of them on fresh pictures, `three` with *neither* offered."""

    account_id: int
    pair_id: int
    shown_form_id: int
    said_form_id: int
    times: int
    fresh: int
    three: int


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums over several learners.

    cells: (pair, shown, said) → (times, fresh, three, learners who said it); shown_to: (pair, shown) → to how many learners;
    by_learner: account → (missed, shown).
    """

    cells: dict[tuple[int, int, int], tuple[int, int, int, int]]
    shown_to: dict[tuple[int, int], int]
    by_learner: dict[int, tuple[int, int]]


class WeekSum(NamedTuple):
    """Answers of one learner in one week; `two`: those to showings with two choices alone."""

    account_id: int
    pair_id: int
    shown_form_id: int
    said_form_id: int
    week: int
    times: int
    two: int


@dataclass(frozen=True, slots=True)
class Among:
    """Which answers: of these learners and pairs, and where named, shown so alone; `since_week`: from that week on."""

    account_ids: Collection[int]
    pair_ids: Collection[int]
    orientation: str | None = None
    rendition: str | None = None
    fresh: bool | None = None
    since_week: int = 0


def given_pairs(db: Session, group_id: int) -> list[GivenPair]:
    """Return the pairs in use that a group is given now, by assignment, stage and place."""
    query = (
        select(
            AssignmentRow.id,
            PairSetRow.title,
            StageRow.place,
            StageRow.title,
            PairRow.id,
            PairRow.first_form_id,
            PairRow.second_form_id,
            CataloguePairRow.catalogue_id,
        )
        .join(PairSetRow, PairSetRow.id == AssignmentRow.pair_set_id)
        .join(StageRow, StageRow.pair_set_id == PairSetRow.id)
        .join(StagePairRow, StagePairRow.stage_id == StageRow.id)
        .join(CataloguePairRow, CataloguePairRow.id == StagePairRow.catalogue_pair_id)
        .join(CatalogueRow, CatalogueRow.id == CataloguePairRow.catalogue_id)
        .join(PairRow, PairRow.id == CataloguePairRow.pair_id)
        .where(AssignmentRow.group_id == group_id, AssignmentRow.retired_at.is_(None), PairSetRow.retired_at.is_(None))
        .where(CataloguePairRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
        .order_by(AssignmentRow.id, StageRow.place, StagePairRow.place)
    )
    return [GivenPair(*row) for row in db.execute(query)]


def begun_before(db: Session, group_id: int, pair_ids: Collection[int]) -> set[tuple[int, int]]:
    """Return (learner, pair) of those in a group who had begun a drill with one of some pairs before they joined.

    It goes from the few drills that were begun before, not from all rounds of the pairs.
    """
    earlier = (
        select(DrillRow.id, DrillRow.account_id)
        .join(MembershipRow, MembershipRow.account_id == DrillRow.account_id)
        .where(MembershipRow.group_id == group_id, MembershipRow.until.is_(None), DrillRow.first_at < MembershipRow.since)
        .subquery()
    )
    query = select(earlier.c.account_id, RoundRow.pair_id).join(RoundRow, RoundRow.drill_id == earlier.c.id).distinct()
    wanted = set(pair_ids)
    return {(account_id, pair_id) for account_id, pair_id in db.execute(query) if pair_id in wanted}


def totals(db: Session, among: Among) -> Totals:
    """Return sums of some learners' tallies of some pairs, over all of them and by learner.

    The tally is read once, in the order of its own key, so that nothing is sorted while it is large.
    """
    cells = _by_learner(among).cte("cells")
    times, missed = func.sum(cells.c.times), cells.c.said_form_id != cells.c.shown_form_id
    none = literal(0)
    said = select(
        literal("said"),
        cells.c.pair_id,
        cells.c.shown_form_id,
        cells.c.said_form_id,
        times,
        func.sum(cells.c.fresh),
        func.sum(cells.c.three),
        func.count(),
    ).group_by(cells.c.pair_id, cells.c.shown_form_id, cells.c.said_form_id)
    shown = select(
        literal("shown"), cells.c.pair_id, cells.c.shown_form_id, none, none, none, none, func.count(cells.c.account_id.distinct())
    ).group_by(cells.c.pair_id, cells.c.shown_form_id)
    whose = select(
        literal("whose"), cells.c.account_id, none, none, times, func.sum(case((missed, cells.c.times), else_=0)), none, none
    ).group_by(cells.c.account_id)
    found = Totals({}, {}, {})
    for part, one, form_id, other, *counted in db.execute(union_all(said, shown, whose)):
        if part == "said":
            found.cells[one, form_id, other] = (int(counted[0]), int(counted[1]), int(counted[2]), int(counted[3]))
        elif part == "shown":
            found.shown_to[one, form_id] = int(counted[3])
        else:
            found.by_learner[one] = (int(counted[1]), int(counted[0]))
    return found


def sums(db: Session, among: Among) -> list[Sum]:
    """Return the sums of some learners' tallies of some pairs, by learner, pair, form shown and form said."""
    return [Sum._make(row) for row in db.execute(_by_learner(among))]


def week_sums(db: Session, among: Among) -> list[WeekSum]:
    """Return sums by learner, pair, form shown, form said and week."""
    key = (TallyRow.account_id, TallyRow.pair_id, TallyRow.shown_form_id, TallyRow.said_form_id, TallyRow.week)
    two = func.coalesce(func.sum(TallyRow.count).filter(TallyRow.choices == 2), 0)
    query = select(*key, func.sum(TallyRow.count), two).where(*_among(among)).group_by(*key)
    return [WeekSum._make(row) for row in db.execute(query)]


def prompts(db: Session, account_ids: Collection[int], pair_ids: Collection[int], *, limit: int) -> list[Any]:
    """Return the latest answers to prompted showings of some pairs: (learner, pair, showing's row, form in force, ask, said, at)."""
    query = (
        select(RoundRow.account_id, RoundRow.pair_id, ShowingRow, PictureRow.form_id, AnswerRow.ask, AnswerRow.said, AnswerRow.at)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(RoundRow.pair_id.in_(pair_ids), RoundRow.account_id.in_(account_ids), ShowingRow.prompted, counts())
        .order_by(RoundRow.id.desc(), ShowingRow.id, AnswerRow.ask)
        .limit(limit)
    )
    return list(db.execute(query))


def posed_sums(db: Session, group_id: int, among: Among, *, pose: str) -> list[tuple[int, int, int, str, int, int]]:
    """Return (learner, pair, form in force, said, answers, fresh) of pictures in one pose, given since each joined.

    The tally does not tell poses apart, so it is read from the answers of these learners to these pairs, by their indexes.
    """
    query = (
        select(
            RoundRow.account_id,
            RoundRow.pair_id,
            PictureRow.form_id,
            SAID_NOW,
            func.count(),
            func.sum(case((ShowingRow.fresh, 1), else_=0)),
        )
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(PictureRow, PictureRow.id == ShowingRow.picture_id)
        .join(PairRow, PairRow.id == RoundRow.pair_id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .join(MembershipRow, MembershipRow.account_id == RoundRow.account_id)
        .outerjoin(STANDING, NAMED_BEFORE)
        .where(MembershipRow.group_id == group_id, MembershipRow.until.is_(None), AnswerRow.at >= MembershipRow.since)
        .where(RoundRow.account_id.in_(among.account_ids), RoundRow.pair_id.in_(among.pair_ids), PictureRow.pose == pose)
        .where(AnswerRow.sure.is_not(None), PictureRow.form_id.in_([PairRow.first_form_id, PairRow.second_form_id]), counts())
        .group_by(RoundRow.account_id, RoundRow.pair_id, PictureRow.form_id, SAID_NOW)
    )
    return [(*row[:3], row[3], int(row[4]), int(row[5])) for row in db.execute(query)]


def learners_of(db: Session, group_id: int) -> list[LearnerOf]:
    """Return who learns in a group now, by name."""
    query = (
        select(MembershipRow.id, MembershipRow.account_id, AccountRow.name, MembershipRow.since, MembershipRow.lets_leader_see)
        .join(AccountRow, AccountRow.id == MembershipRow.account_id)
        .where(MembershipRow.group_id == group_id, MembershipRow.until.is_(None), MembershipRow.role == LEARNS)
        .where(AccountRow.retired_at.is_(None))
        .order_by(AccountRow.name_folded, MembershipRow.id)
    )
    return [LearnerOf(*row) for row in db.execute(query)]


def forms_of(db: Session, form_ids: Collection[int]) -> dict[int, tuple[str, str]]:
    """Return (sex, life stage) of some forms."""
    query = select(FormRow.id, FormRow.sex, FormRow.life_stage).where(FormRow.id.in_(form_ids))
    return {form_id: (sex, life_stage) for form_id, sex, life_stage in db.execute(query)}


def poses_of(db: Session, form_ids: Collection[int]) -> list[str]:
    """Return in which poses pictures of some forms are said to show them."""
    query = select(PictureRow.pose).where(PictureRow.form_id.in_(form_ids), PictureRow.pose != "").distinct()
    return sorted(db.scalars(query))


def _by_learner(among: Among) -> Select[int, int, int, int, int, int, int]:
    key = (TallyRow.account_id, TallyRow.pair_id, TallyRow.shown_form_id, TallyRow.said_form_id)
    return (
        select(
            *key,
            func.sum(TallyRow.count).label("times"),
            func.coalesce(func.sum(TallyRow.count).filter(TallyRow.fresh), 0).label("fresh"),
            func.coalesce(func.sum(TallyRow.count).filter(TallyRow.choices > 2), 0).label("three"),
        )
        .where(*_among(among))
        .group_by(*key)
    )


def _among(among: Among) -> list[ColumnElement[bool]]:
    wanted: list[ColumnElement[bool]] = [TallyRow.account_id.in_(among.account_ids), TallyRow.pair_id.in_(among.pair_ids)]
    if among.orientation is not None:
        wanted.append(TallyRow.orientation == among.orientation)
    if among.rendition is not None:
        wanted.append(TallyRow.rendition == among.rendition)
    if among.fresh is not None:
        wanted.append(TallyRow.fresh.is_(among.fresh))
    if among.since_week:
        wanted.append(TallyRow.week >= among.since_week)
    return wanted
