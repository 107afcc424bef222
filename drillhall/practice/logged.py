"""Reads the log as plain values: each round of a learner and a pair with its showings, as they are judged now, and its answers."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from functools import lru_cache
from operator import attrgetter
from typing import Any

from sqlalchemy import ColumnElement, Row, and_, false, or_
from sqlalchemy.orm import Session

from drillhall.core.folding import LoggedAnswer, LoggedRound, LoggedShowing, judged_beside, judged_by
from drillhall.core.joining import renamed
from drillhall.core.values import Ask, Rendition, Sure
from drillhall.practice.asks import ask_of
from drillhall.store.models.practice import RoundRow
from drillhall.store.queries import log

_RENDITIONS = {rendition.value: rendition for rendition in Rendition}
_PLACE = attrgetter("place")
_SURE = {None: None, "": None} | {sure.value: sure for sure in Sure}


def logged_rounds(db: Session, account_id: int, pair_ids: Iterable[int]) -> dict[int, list[LoggedRound]]:
    """Return the log of some pairs of a learner as plain values: every round with an answer, by pair."""
    return {pair_id: rounds for (_, pair_id), rounds in logged_rounds_of(db, {account_id: pair_ids}).items()}


def logged_rounds_of(db: Session, wanted: Mapping[int, Iterable[int]]) -> dict[tuple[int, int], list[LoggedRound]]:
    """Return the log of some pairs of each of some learners, by learner and pair.

    Each showing is judged by the form that its picture is said to show now, whatever it was said to show when it was planned.
    """
    hers = (and_(RoundRow.account_id == account_id, RoundRow.pair_id.in_(list(pair_ids))) for account_id, pair_ids in wanted.items())
    return _read(db, or_(false(), *hers))


def _read(db: Session, those: ColumnElement[bool]) -> dict[tuple[int, int], list[LoggedRound]]:
    answers: dict[int, list[LoggedAnswer]] = defaultdict(list)
    for row in log.answer_columns(db, those):
        answers[row.showing_id].append(logged_answer(row))
    showings: dict[int, list[LoggedShowing]] = defaultdict(list)
    rounds: dict[int, Row[Any]] = {}
    for row in log.judging_columns(db, those):
        showings[row.round_id].append(logged_showing(row, tuple(answers.get(row.id, ()))))
        if row.id in answers:
            rounds[row.round_id] = row
    found: dict[tuple[int, int], list[LoggedRound]] = defaultdict(list)
    for round_id, row in rounds.items():
        assert row.local_day is not None  # set as soon as the drill has an answer
        found[(row.account_id, row.pair_id)].append(logged_round(row, showings[round_id], day=row.local_day))
    return found


def logged_answer(row: Row[Any]) -> LoggedAnswer:
    """Return an answer as a plain value; the row has the columns of `log.answer_columns`."""
    return LoggedAnswer(row.id, row.ask, row.said, _SURE[row.sure], row.seconds, row.hint, row.at)


def new_answer(told: Mapping[str, Any]) -> LoggedAnswer:
    """Return an answer that is being stored as a plain value; `told` holds what its row will."""
    given = (told["id"], told["ask"], told["said"], _SURE[told["sure"]], told["seconds"], told["hint"], told["at"])
    return LoggedAnswer(*given)


def logged_round(row: Row[Any], showings: Iterable[LoggedShowing], *, day: date) -> LoggedRound:
    """Return a round as a plain value; the row is that of any of its showings, with the columns of `log.judging`."""
    ordered = tuple(sorted(showings, key=_PLACE))
    return LoggedRound(row.round_id, day, row.pace_ms / 1000, ordered, row.is_trial, row.catalogue_id)


def logged_showing(row: Row[Any], answers: tuple[LoggedAnswer, ...], *, fresh: bool | None = None) -> LoggedShowing:
    """Return a showing as it is judged now; the row has the columns of `log.judging`, `fresh` is what it is, if that is not stored yet."""
    showing = LoggedShowing(
        id=row.id,
        place=row.place,
        form_id=row.form_id,
        asks=asked(row.asks),
        fresh=row.fresh if fresh is None else fresh,
        prompted=row.prompted,
        third=row.third,
        rendition=_RENDITIONS[row.rendition],
        orientation=row.orientation,
        answers=answers,
    )
    if row.renamed:
        showing = renamed(showing, row.other_id, row.renamed)
    if row.beside_id is None:
        return judged_by(showing, row.form_now)
    return judged_beside(showing, row.other_id, (row.form_now, row.beside_now))


@lru_cache(maxsize=4096)
def asked(stored: str) -> tuple[Ask, ...]:
    """Return the questions that a text tells; those of a pair are few, and stand in every showing of it."""
    return tuple(ask_of(one) for one in json.loads(stored))
