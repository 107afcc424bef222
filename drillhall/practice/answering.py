"""Stores answers, each exactly once, and folds the pairs they touch; a rebuild folds everything again."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from sqlalchemy import Row
from sqlalchemy.orm import Session

from drillhall.core.folding import LoggedAnswer
from drillhall.core.kinds import the_kind
from drillhall.core.values import Memory, Sure
from drillhall.errors import BadAnswer, Invalid
from drillhall.practice.folding import refold_pairs
from drillhall.practice.folding_on import Given, fold_answers
from drillhall.practice.logged import asked, logged_answer, new_answer
from drillhall.practice.remembering import memory_of
from drillhall.store.queries import batch, log
from drillhall.store.queries.batch import Learner
from drillhall.words import say

MOST_AT_ONCE = 500
"""More answers than this are not taken in one go."""

_UUID: Final = re.compile("[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
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
    """What became of a batch: ids stored now, ids known already, and refusals; `memories` are those of the pairs touched."""

    stored: tuple[str, ...]
    known: tuple[str, ...]
    refused: tuple[Refused, ...]
    memories: Mapping[int, Memory | None] = field(default_factory=dict)


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
    return store_of(db, hold_learner(db, account_id, answers), answers, received_at=received_at)


def hold_learner(db: Session, account_id: int, answers: Sequence[NewAnswer]) -> Learner:
    """Hold the labels by which a batch is judged, then the learner; raises BadAnswer where the batch is too long.

    One batch of hers is folded at a time, else two devices would fold the same pair from half a log each.
    """
    if len(answers) > MOST_AT_ONCE:
        raise BadAnswer(
            say("At most {most_at_once} answers are taken at once. Send the rest afterwards.", most_at_once=MOST_AT_ONCE), field="answers"
        )
    log.hold_labels(db, {answer.showing for answer in answers})
    return batch.hold_learner(db, account_id)


def store_of(db: Session, learner: Learner, answers: Sequence[NewAnswer], *, received_at: datetime) -> Stored:
    """Store answers, as `store_answers` does, of a learner who is held."""
    answers = [answer if answer.id.islower() else replace(answer, id=answer.id.lower()) for answer in answers]
    shown = {row.id: row for row in batch.showings(db, learner.id, {answer.showing for answer in answers})}
    ids = {answer.id for answer in answers if is_uuid(answer.id)}
    logged = batch.answers(db, shown, ids)
    known = {row.id for row in logged if row.id in ids and row.account_id == learner.id}
    foreign = {row.id for row in logged if row.account_id != learner.id}
    stored: dict[str, dict[str, Any]] = {}
    refused: list[Refused] = []
    for answer in answers:
        if answer.id in known or answer.id in stored:
            continue
        try:
            if answer.id not in ids:
                raise BadAnswer(say("An answer's id must be a UUID made by the page. Load the page again."), field="id")
            if answer.id in foreign:
                raise BadAnswer(say("This answer's id is taken already. Load the page again."), field="id")
            stored[answer.id] = _checked(answer, shown.get(answer.showing), received_at=received_at)
        except Invalid as fault:
            refused.append(Refused(answer.id, fault.sentence))
    memories: Mapping[int, Memory | None] = {}
    if stored:
        batch.keep_answers(db, [row | {"account_id": learner.id} for row in stored.values()])
        memories = _fold(db, learner, shown, logged, stored.values())
    seen = dict.fromkeys(answer.id for answer in answers if answer.id in known)
    return Stored(stored=tuple(stored), known=tuple(seen), refused=tuple(refused), memories=memories)


def _fold(
    db: Session, learner: Learner, shown: Mapping[int, Row[Any]], logged: Iterable[Row[Any]], stored: Iterable[dict[str, Any]]
) -> dict[int, Memory | None]:
    """Fold what is being stored; return the memories of the pairs that it touches, as they are now."""
    before, new = defaultdict[int, list[LoggedAnswer]](list), defaultdict[int, list[LoggedAnswer]](list)
    for row in logged:
        if row.showing_id in shown:
            before[row.showing_id].append(logged_answer(row))
    for told in stored:
        new[told["showing_id"]].append(new_answer(told))
    memories, whole = fold_answers(db, learner, Given(tuple(shown.values()), before, new))
    if whole:
        refold_pairs(db, learner.id, whole)
        now = batch.memories(db, learner.id, whole)
        memories |= {shown[one].pair_id: None for one in new if shown[one].pair_id in whole}
        memories |= {pair_id: memory_of(row) for pair_id, row in now.items() if pair_id in memories}
    return memories


def _checked(answer: NewAnswer, showing: Row[Any] | None, *, received_at: datetime) -> dict[str, Any]:
    """Check one answer against what was asked and return what to keep; raises Invalid naming the field."""
    if showing is None:
        raise BadAnswer(say("This picture was not in a drill of yours. Open today's drill again."), field="showing")
    asks = asked(showing.asks)
    if not 0 <= answer.ask < len(asks):
        raise BadAnswer(say("This picture has no question {ask}. Open the drill again.", ask=answer.ask), field="ask")
    ask = asks[answer.ask]
    kind = the_kind(ask.kind)
    kind.validate(ask, answer.said)
    sure = _sure(answer.sure, wanted=kind.takes_sure)
    if not 0 <= answer.seconds < float("inf"):
        raise BadAnswer(say("The time taken must be a number of seconds, 0 or more."), field="seconds")
    return {
        "id": answer.id,
        "showing_id": showing.id,
        "ask": answer.ask,
        "said": answer.said,
        "sure": sure,
        "seconds": min(answer.seconds, LONGEST_SECONDS),
        "hint": answer.hint,
        "at": min(max(answer.at - answer.clock_ahead, showing.planned_at), received_at).astimezone(UTC),
        "phone_at": answer.at,
        "received_at": received_at,
    }


def is_uuid(text: str) -> bool:
    """Whether a text is a UUID in its usual spelling."""
    return _UUID.fullmatch(text) is not None


def _sure(said: str | None, *, wanted: bool) -> str | None:
    if not wanted:
        return None
    if said not in {sure.value for sure in Sure}:
        raise BadAnswer(say("Say how sure you are: certain, probable or possible."), field="sure")
    return said
