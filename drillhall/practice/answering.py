"""Stores answers, each exactly once, and folds the pairs they touch; a rebuild folds everything again."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.kinds import the_kind
from drillhall.core.values import Sure
from drillhall.errors import BadAnswer, Invalid
from drillhall.practice.asks import ask_of
from drillhall.practice.folding import add_sights, refold_days, refold_pairs
from drillhall.practice.folding_on import fold_answers
from drillhall.practice.freshness import refold_freshness
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import AnswerRow, DrillRow, RoundRow, ShowingRow
from drillhall.store.queries import log, sights
from drillhall.words import say

MOST_AT_ONCE = 500
"""More answers than this are not taken in one go."""

LONGEST_SECONDS = 3600.0
"""A learner who left the page open did not look at the picture for longer than this."""


@dataclass(frozen=True, slots=True)
class NewAnswer:
    """One answer as a client sends it: `at` is its own clock, aware; `id` a UUID it made.

    `clock_ahead` is how far the client's clock ran ahead of the hall's when it sent the answer; it is taken off `at`.
    """

    id: str
    showing: int
    ask: int
    said: str
    sure: str | None
    seconds: float
    hint: bool
    at: datetime
    clock_ahead: timedelta = timedelta(0)


@dataclass(frozen=True, slots=True)
class Refused:
    """An answer that was not stored, and why, in a sentence."""

    id: str
    why: str


@dataclass(frozen=True, slots=True)
class Stored:
    """What became of a batch: ids stored now, ids known already, and refusals; `pair_ids` are the pairs that it touched."""

    stored: tuple[str, ...]
    known: tuple[str, ...]
    refused: tuple[Refused, ...]
    pair_ids: frozenset[int] = frozenset()


def store_answers(db: Session, account_id: int, answers: Sequence[NewAnswer], *, received_at: datetime) -> Stored:
    """Store a learner's answers and fold every pair they touch.

    Parameters
    ----------
    answers : in any order, with repeats; an id known already changes nothing.
    received_at : the hall's clock.

    Returns
    -------
    Stored : every id of the batch stands in exactly one of its three parts.

    Raises
    ------
    BadAnswer : the batch as a whole is too long.
    """
    if len(answers) > MOST_AT_ONCE:
        raise BadAnswer(
            say("At most {most_at_once} answers are taken at once. Send the rest afterwards.", most_at_once=MOST_AT_ONCE), field="answers"
        )
    log.hold_labels(db, {answer.showing for answer in answers})
    # One batch of a learner at a time, else two devices would fold the same pair from half a log each.
    account = db.scalars(select(AccountRow).where(AccountRow.id == account_id).with_for_update()).one()
    answers = [replace(answer, id=answer.id.lower()) for answer in answers]
    known, foreign = _known(db, account_id, answers)
    context = _context(db, account_id, {answer.showing for answer in answers})
    stored: dict[str, _Kept] = {}
    refused: list[Refused] = []
    for answer in answers:
        if answer.id in known or answer.id in stored:
            continue
        try:
            _check_id(answer.id)
            if answer.id in foreign:
                raise BadAnswer(say("This answer's id is taken already. Load the page again."), field="id")
            stored[answer.id] = _row(answer, context, account_id=account_id, received_at=received_at)
        except Invalid as fault:
            refused.append(Refused(answer.id, fault.sentence))
    db.add_all([kept.row for kept in stored.values()])
    db.flush()
    _fold(db, account, list(stored.values()))
    seen = dict.fromkeys(answer.id for answer in answers if answer.id in known)
    touched = frozenset(kept.pair_id for kept in stored.values())
    return Stored(stored=tuple(stored), known=tuple(seen), refused=tuple(refused), pair_ids=touched)


@dataclass(frozen=True, slots=True)
class _Kept:
    """A row to keep, and what it was about."""

    row: AnswerRow
    drill_id: str
    round_id: int
    pair_id: int
    picture_ids: frozenset[int]


def _fold(db: Session, account: AccountRow, stored: Sequence[_Kept]) -> None:
    if not stored:
        return
    pictures = frozenset[int]().union(*(kept.picture_ids for kept in stored))
    whole = refold_days(db, account.id, {kept.drill_id for kept in stored})
    whole |= refold_freshness(db, account.id, pictures, new=Counter(kept.row.showing_id for kept in stored))
    rounds = {kept.round_id: kept.pair_id for kept in stored if kept.pair_id not in whole}
    whole |= fold_answers(db, account, rounds, {kept.row.id for kept in stored})
    if whole:
        refold_pairs(db, account.id, whole)
    answered = [(kept.row.showing_id, picture, kept.row.at) for kept in stored for picture in kept.picture_ids]
    before = sights.answered_before(db, {kept.row.showing_id for kept in stored}, but={kept.row.id for kept in stored})
    add_sights(db, account.id, answered, seen_before=before)


def _known(db: Session, account_id: int, answers: Iterable[NewAnswer]) -> tuple[set[str], set[str]]:
    """Return the ids that this learner's log holds already, and those that somebody else's does."""
    ids = [answer.id for answer in answers if is_uuid(answer.id)]
    owners = {row.id: row.account_id for row in db.execute(select(AnswerRow.id, AnswerRow.account_id).where(AnswerRow.id.in_(ids)))}
    known = {answer_id for answer_id, owner in owners.items() if owner == account_id}
    return known, owners.keys() - known


def _context(db: Session, account_id: int, showing_ids: set[int]) -> dict[int, tuple[ShowingRow, RoundRow, DrillRow]]:
    query = (
        select(ShowingRow, RoundRow, DrillRow)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .where(ShowingRow.id.in_(list(showing_ids)), ShowingRow.account_id == account_id)
    )
    return {showing.id: (showing, logged, drill) for showing, logged, drill in db.execute(query)}


def _row(
    answer: NewAnswer,
    context: dict[int, tuple[ShowingRow, RoundRow, DrillRow]],
    *,
    account_id: int,
    received_at: datetime,
) -> _Kept:
    """Check one answer against what was asked and return what to keep; raises Invalid naming the field."""
    if answer.showing not in context:
        raise BadAnswer(say("This picture was not in a drill of yours. Open today's drill again."), field="showing")
    showing, logged, drill = context[answer.showing]
    if not 0 <= answer.ask < len(showing.asks):
        raise BadAnswer(say("This picture has no question {ask}. Open the drill again.", ask=answer.ask), field="ask")
    ask = ask_of(showing.asks[answer.ask])
    kind = the_kind(ask.kind)
    kind.validate(ask, answer.said)
    sure = _sure(answer.sure, wanted=kind.takes_sure)
    if not 0 <= answer.seconds < float("inf"):
        raise BadAnswer(say("The time taken must be a number of seconds, 0 or more."), field="seconds")
    row = AnswerRow(
        id=answer.id,
        showing_id=showing.id,
        account_id=account_id,
        ask=answer.ask,
        said=answer.said,
        sure=sure,
        seconds=min(answer.seconds, LONGEST_SECONDS),
        hint=answer.hint,
        at=min(max(answer.at - answer.clock_ahead, drill.planned_at), received_at),
        phone_at=answer.at,
        received_at=received_at,
    )
    return _Kept(row, drill.id, logged.id, logged.pair_id, frozenset(one for one in (showing.picture_id, showing.beside_id) if one))


def is_uuid(text: str) -> bool:
    """Whether a text is a UUID in its usual spelling."""
    try:
        return str(uuid.UUID(text)) == text
    except ValueError:
        return False


def _check_id(answer_id: str) -> None:
    if not is_uuid(answer_id):
        raise BadAnswer(say("An answer's id must be a UUID made by the page. Load the page again."), field="id")


def _sure(said: str | None, *, wanted: bool) -> str | None:
    if not wanted:
        return None
    if said not in {sure.value for sure in Sure}:
        raise BadAnswer(say("Say how sure you are: certain, probable or possible."), field="sure")
    return said
