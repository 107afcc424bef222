"""Offers a learner scheduling numbers fitted to her own rounds; nothing changes until she takes them, and she may always go back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.core.fitting import LEAST_ROUNDS, FittingOffer, offer_fitting, refuse_without_library
from drillhall.core.folding import fold_pair
from drillhall.errors import Invalid, NotFound
from drillhall.practice.folding import refold_pairs
from drillhall.practice.logged import logged_rounds
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import FittingRow, ParameterSetRow
from drillhall.store.queries import learner as reading
from drillhall.words import say

BROKEN_OFF: Final = timedelta(minutes=30)
"""A fitting takes seconds: what was begun so long ago and is not done was broken off, and may be asked for again."""


@dataclass(frozen=True, slots=True)
class OwnSet:
    """Numbers that were offered: how many rounds they were fitted to, how well they foretold `judged_on` later ones, and their times.

    A loss is the mean log loss; the lower the better.
    """

    id: int
    rounds: int
    judged_on: int
    usual_loss: float
    fitted_loss: float
    made_at: datetime
    taken_at: datetime | None
    ended_at: datetime | None

    @property
    def holds(self) -> bool:
        """Whether her rounds are folded with it now."""
        return self.taken_at is not None and self.ended_at is None


@dataclass(frozen=True, slots=True)
class Fitting:
    """What she asked for last: whether it is being worked out, was broken off, or is done and came to an offer."""

    asked_at: datetime
    done_at: datetime | None
    is_at_work: bool
    offered: bool


@dataclass(frozen=True, slots=True)
class OwnNumbers:
    """The page: how many rated rounds she has of those needed, what she asked for last, every set that was offered, the latest first."""

    rounds: int
    needed: int
    sets: tuple[OwnSet, ...]
    fitting: Fitting | None = None

    @property
    def current(self) -> OwnSet | None:
        """The set in force, or None while the usual numbers are."""
        return next((one for one in self.sets if one.holds), None)


def the_numbers(db: Session, account_id: int, *, now: datetime) -> OwnNumbers:
    """Return what has been offered to a learner, what is being worked out for her, and how far she is from an offer."""
    query = select(ParameterSetRow).where(ParameterSetRow.account_id == account_id).order_by(ParameterSetRow.id.desc())
    rounds = sum(row.rounds for row in reading.memories(db, account_id).values())
    return OwnNumbers(rounds, LEAST_ROUNDS, tuple(_own(row) for row in db.scalars(query)), _fitting(db, account_id, now))


def ask_for_offer(db: Session, account_id: int, *, at: datetime) -> None:
    """Note that a learner wants numbers of her own, for a worker to fit them; asked again while that is at work, nothing is added.

    Raises Invalid where she has too few rounds, or the package that fits is not installed.
    """
    refuse_without_library()
    if the_numbers(db, account_id, now=at).rounds < LEAST_ROUNDS:
        raise Invalid(
            say(
                "With fewer than {least_rounds} rated rounds there is nothing to offer. Drill on, and come back.", least_rounds=LEAST_ROUNDS
            ),
            field="fitting",
        )
    _hold(db, account_id)
    known = _fitting(db, account_id, at)
    if known is None or not known.is_at_work:
        row = db.get(FittingRow, account_id) or FittingRow(account_id=account_id)
        row.asked_at, row.begun_at, row.done_at, row.offered = at, None, None, False
        db.add(row)


def take_up(db: Session, *, at: datetime) -> int | None:
    """Take up what was asked for longest ago, and return whose it is; None where nothing waits. Commit before it is fitted."""
    waiting = select(FittingRow.account_id).where(FittingRow.begun_at.is_(None)).order_by(FittingRow.asked_at, FittingRow.account_id)
    longest = waiting.limit(1).scalar_subquery()
    mine = update(FittingRow).where(FittingRow.account_id == longest, FittingRow.begun_at.is_(None)).values(begun_at=at)
    return db.execute(mine.returning(FittingRow.account_id)).scalar_one_or_none()


def settle(db: Session, account_id: int, offer: FittingOffer | None, *, at: datetime) -> None:
    """Keep what came of a fitting; whoever has gone meanwhile is offered nothing."""
    row = db.get(FittingRow, account_id)
    if row is None:
        return
    row.done_at, row.offered = at, offer is not None
    if offer is not None:
        keep_offer(db, account_id, offer, at=at)


def seek_offer(db: Session, account_id: int) -> FittingOffer | None:
    """Fit to a learner's log, which takes a while and changes nothing; None where the usual numbers do as well.

    Raises Invalid where the package that fits is not installed.
    """
    logs = logged_rounds(db, account_id, reading.memories(db, account_id))
    return offer_fitting({pair_id: fold_pair(rounds).rated for pair_id, rounds in logs.items()})


def keep_offer(db: Session, account_id: int, offer: FittingOffer, *, at: datetime) -> None:
    """Keep an offer, to be taken or left."""
    row = ParameterSetRow(account_id=account_id, parameters=list(offer.parameters), rounds=offer.rounds, judged_on=offer.judged_on)
    row.usual_loss, row.fitted_loss, row.made_at = offer.usual_loss, offer.fitted_loss, at
    db.add(row)


def take_set(db: Session, account_id: int, set_id: int, *, at: datetime) -> None:
    """Fold a learner's pairs with a set that was offered to her, from now on; the one before it is kept.

    Raises NotFound where it was not offered to her.
    """
    _hold(db, account_id)
    row = db.get(ParameterSetRow, set_id)
    if row is None or row.account_id != account_id:
        raise NotFound(say("No such numbers were offered to you."))
    if row.taken_at is None or row.ended_at is not None:
        _end(db, account_id, at=at)
        row.taken_at, row.ended_at = at, None
        _refold(db, account_id)


def go_back(db: Session, account_id: int, *, at: datetime) -> None:
    """Fold a learner's pairs with the usual numbers again."""
    _hold(db, account_id)
    _end(db, account_id, at=at)
    _refold(db, account_id)


def _hold(db: Session, account_id: int) -> None:
    db.execute(select(AccountRow.id).where(AccountRow.id == account_id).with_for_update())


def _end(db: Session, account_id: int, *, at: datetime) -> None:
    running = select(ParameterSetRow).where(
        ParameterSetRow.account_id == account_id, ParameterSetRow.taken_at.is_not(None), ParameterSetRow.ended_at.is_(None)
    )
    for row in db.scalars(running):
        row.ended_at = at


def _refold(db: Session, account_id: int) -> None:
    db.flush()
    refold_pairs(db, account_id, reading.memories(db, account_id))


def _fitting(db: Session, account_id: int, now: datetime) -> Fitting | None:
    row = db.get(FittingRow, account_id)
    if row is None:
        return None
    at_work = row.done_at is None and (row.begun_at is None or now - row.begun_at < BROKEN_OFF)
    return Fitting(row.asked_at, row.done_at, at_work, row.offered)


def _own(row: ParameterSetRow) -> OwnSet:
    return OwnSet(row.id, row.rounds, row.judged_on, row.usual_loss, row.fitted_loss, row.made_at, row.taken_at, row.ended_at)
