"""The shelf: the pair sets of this hall, which of them a learner has taken, and taking or putting one back."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from drillhall.core.cautions import fixed_banner
from drillhall.core.values import Pair
from drillhall.errors import NotFound
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.reader import names_for
from drillhall.store.models.catalogue import CataloguePairRow, CatalogueRow, PairSetRow, StagePairRow, StageRow, TakenSetRow
from drillhall.store.queries.sets import assigned_to
from drillhall.store.queries.showing import find_set_in_use
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class SetOnShelf:
    """One pair set as the shelf shows it; `given_by`: the group of hers that has given it to her, or empty."""

    id: int
    title: str
    note: str
    catalogue: str
    catalogue_key: str
    subject: str
    pairs: int
    stages: tuple[str, ...]
    taken: bool
    given_by: str

    @property
    def banner(self) -> str:
        """The caution that nobody can switch off, or empty."""
        return fixed_banner(self.subject)


@dataclass(frozen=True, slots=True)
class SharedStage:
    """A stage as anybody in the hall sees it: `held` are the poses and distances that it holds alone."""

    title: str
    held: tuple[str, ...]
    pairs: tuple[Pair, ...]


@dataclass(frozen=True, slots=True)
class SharedSet:
    """A pair set as anybody in the hall sees it who was sent its link."""

    set: SetOnShelf
    stages: tuple[SharedStage, ...]


def is_empty(db: Session) -> bool:
    """Say whether the hall holds no pair set in use."""
    in_use = select(PairSetRow.id).join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
    return not db.scalar(select(in_use.where(PairSetRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None)).exists()))


def list_sets(db: Session, account_id: int) -> tuple[SetOnShelf, ...]:
    """Return every pair set of the hall that is in use, in order of catalogue and place."""
    pairs = (
        select(StageRow.pair_set_id, func.count(func.distinct(StagePairRow.catalogue_pair_id)).label("pairs"))
        .join(StagePairRow, StagePairRow.stage_id == StageRow.id)
        .join(CataloguePairRow, CataloguePairRow.id == StagePairRow.catalogue_pair_id)
        .where(CataloguePairRow.retired_at.is_(None))
        .group_by(StageRow.pair_set_id)
        .subquery()
    )
    query = (
        select(PairSetRow, CatalogueRow, func.coalesce(pairs.c.pairs, 0))
        .join(CatalogueRow, CatalogueRow.id == PairSetRow.catalogue_id)
        .outerjoin(pairs, pairs.c.pair_set_id == PairSetRow.id)
        .where(PairSetRow.retired_at.is_(None), CatalogueRow.retired_at.is_(None))
        .order_by(CatalogueRow.title, PairSetRow.place, PairSetRow.id)
    )
    found = db.execute(query).all()
    taken = set(db.scalars(select(TakenSetRow.pair_set_id).where(TakenSetRow.account_id == account_id)))
    given = {one.pair_set_id: one.group_title for one in assigned_to(db, account_id)}
    stages: dict[int, list[str]] = {}
    for stage in db.scalars(select(StageRow).where(StageRow.pair_set_id.in_([row.id for row, _, _ in found])).order_by(StageRow.place)):
        stages.setdefault(stage.pair_set_id, []).append(stage.title)
    return tuple(
        SetOnShelf(
            id=row.id,
            title=row.title,
            note=row.note,
            catalogue=catalogue.title,
            catalogue_key=catalogue.key,
            subject=catalogue.subject,
            pairs=int(count),
            stages=tuple(stages.get(row.id, ())),
            taken=row.id in taken,
            given_by=given.get(row.id, ""),
        )
        for row, catalogue, count in found
    )


def the_shared_set(db: Session, account_id: int, pair_set_id: int) -> SharedSet:
    """Return a pair set in use with its pairs, for anybody in the hall, or raise NotFound."""
    found = next((one for one in list_sets(db, account_id) if one.id == pair_set_id), None)
    if found is None:
        raise NotFound(say("There is no such pair set on the shelf."))
    query = (
        select(StageRow, CataloguePairRow.pair_id, CataloguePairRow.catalogue_id)
        .join(StagePairRow, StagePairRow.stage_id == StageRow.id)
        .join(CataloguePairRow, CataloguePairRow.id == StagePairRow.catalogue_pair_id)
        .where(StageRow.pair_set_id == pair_set_id, CataloguePairRow.retired_at.is_(None))
        .order_by(StageRow.place, StagePairRow.place)
    )
    rows = db.execute(query).all()
    lores = lore_of_pairs(db, rows[0][2], {pair_id for _, pair_id, _ in rows}, reader=names_for(db, account_id)) if rows else {}
    stages: dict[int, SharedStage] = {}
    for stage, pair_id, _ in rows:
        before = stages.get(stage.id, SharedStage(stage.title, (*stage.poses, *stage.distances), ()))
        stages[stage.id] = replace(before, pairs=(*before.pairs, lores[pair_id].pair))
    return SharedSet(found, tuple(stages.values()))


def the_set(db: Session, pair_set_id: int) -> PairSetRow:
    """Return a pair set in use, or raise NotFound."""
    found = find_set_in_use(db, pair_set_id)
    if found is None:
        raise NotFound(say("There is no such pair set on the shelf."))
    return found


def take_set(db: Session, account_id: int, pair_set_id: int, *, at: datetime) -> None:
    """Take a pair set from the shelf; taking it twice changes nothing.

    Raises NotFound where the hall has no such set in use.
    """
    the_set(db, pair_set_id)
    if db.get(TakenSetRow, (account_id, pair_set_id)) is None:
        db.add(TakenSetRow(account_id=account_id, pair_set_id=pair_set_id, taken_at=at))


def put_back_set(db: Session, account_id: int, pair_set_id: int) -> None:
    """Put a pair set back: its pairs are no longer drilled; what was learnt of them is kept."""
    db.execute(delete(TakenSetRow).where(TakenSetRow.account_id == account_id, TakenSetRow.pair_set_id == pair_set_id))
