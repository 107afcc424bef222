"""What a drill came to: each pair's standing before and now, what was mixed up with what, and what is left of it to do."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Any

from sqlalchemy import Row
from sqlalchemy.orm import Session

from drillhall.core.folding import LoggedRound, fold_pair
from drillhall.core.kinds import form
from drillhall.core.memory import Parameters
from drillhall.core.pairs import standing
from drillhall.core.values import NEITHER, Form, FreshAnswer, Pair
from drillhall.errors import NotFound
from drillhall.practice.cautioning import banners_of, cautions_of
from drillhall.practice.days import local_day
from drillhall.practice.judging import Judged, form_said, judged
from drillhall.practice.left import pictures_left
from drillhall.practice.logged import logged_rounds
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.needs import list_fresh
from drillhall.practice.packets import DrillEnd, MixedUp, RoundEnded
from drillhall.practice.reader import Reader, reader_of
from drillhall.practice.remembering import memory_of, parameters_of
from drillhall.practice.reviewing import named_pairs
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import AnswerRow, RoundRow, ShowingRow
from drillhall.store.queries import learner as reading
from drillhall.store.queries import log
from drillhall.words import say

Counted = tuple[ShowingRow, Judged]
"""A showing that was answered, and what it counts as."""


@dataclass(frozen=True, slots=True)
class _Hers:
    """What is known of a learner's pairs: memories as stored, fresh answers and the log, by pair; `day` is that of the drill."""

    account: AccountRow
    parameters: Parameters
    today: date
    day: date
    memories: Mapping[int, Row[Any]]
    fresh: Mapping[int, Sequence[FreshAnswer]]
    logs: Mapping[int, Sequence[LoggedRound]]


def the_drill_end(db: Session, account_id: int, drill_id: str, *, now: datetime) -> DrillEnd:
    """Return what a drill came to; raises NotFound where it is none of hers."""
    drill = log.the_drill(db, account_id, drill_id)
    if drill is None:
        raise NotFound(say("There is no such drill of yours."))
    account = db.get_one(AccountRow, account_id)
    today = local_day(account, now)
    pairs = named_pairs(db, account_id, on=today)
    rounds = [logged for logged in log.rounds_of(db, drill_id) if logged.pair_id in pairs]
    shown = log.showings_of(db, drill_id)
    said = _first_said(db, drill_id, shown)
    by_pair: dict[int, list[Counted]] = {}
    pair_of = {logged.id: logged.pair_id for logged in rounds}
    in_force = log.forms_in_force(db, said)
    for showing in shown:
        counts_as = judged(showing, in_force[showing.id]) if showing.id in said else None
        if counts_as is not None and showing.round_id in pair_of:
            by_pair.setdefault(pair_of[showing.round_id], []).append((showing, counts_as))
    hers = _hers(db, account, list(by_pair), today=today, day=drill.local_day or today)
    ended = tuple(_ended(hers, pairs[pair_id], showings, said) for pair_id, showings in by_pair.items())
    worst = max(ended, key=lambda one: one.shown - one.right, default=None)
    catalogues = {logged.catalogue_id for logged in rounds}
    return DrillEnd(
        drill_id=drill_id,
        rounds=ended,
        mixed=_mixed(db, rounds, by_pair, said, reader_of(account)),
        closer=worst.pair if worst is not None and worst.right < worst.shown else None,
        left=pictures_left(db, account_id, drill_id, today=today),
        cautions=cautions_of(db, catalogues, "drill_end"),
        banners=banners_of(db, catalogues),
    )


def _first_said(db: Session, drill_id: str, shown: Sequence[ShowingRow]) -> dict[int, AnswerRow]:
    """Return the answer that counts to the question which form it is, by showing."""
    form_ask = {showing.id: place for showing in shown for place, ask in enumerate(showing.asks) if ask["kind"] == form.KEY}
    said: dict[int, AnswerRow] = {}
    for row in log.answers_of(db, drill_id):
        if form_ask.get(row.showing_id) == row.ask:
            said.setdefault(row.showing_id, row)
    return said


def _hers(db: Session, account: AccountRow, pair_ids: Sequence[int], *, today: date, day: date) -> _Hers:
    return _Hers(
        account=account,
        parameters=parameters_of(db, account.id),
        today=today,
        day=day,
        memories=reading.memories(db, account.id),
        fresh=list_fresh(db, account.id, pair_ids, today=today),
        logs=logged_rounds(db, account.id, pair_ids),
    )


def _ended(hers: _Hers, pair: Pair, showings: Sequence[Counted], said: Mapping[int, AnswerRow]) -> RoundEnded:
    row, fresh = hers.memories.get(pair.id), hers.fresh.get(pair.id, [])
    own = {showing.round_id for showing, _ in showings}
    earlier = [logged for logged in hers.logs[pair.id] if logged.id not in own]
    stands = partial(standing, target_recall=hers.account.target_recall, parameters=hers.parameters)
    memory = fold_pair(earlier, parameters=hers.parameters).memory
    return RoundEnded(
        pair=pair,
        right=sum(said[showing.id].said == counts_as.key for showing, counts_as in showings),
        shown=len(showings),
        before=stands(memory, today=hers.day, met=bool(earlier), fresh=[answer for answer in fresh if answer.day < hers.day]),
        now=stands(memory_of(row) if row is not None else None, today=hers.today, met=True, fresh=fresh),
        back_in_days=max(0, (row.due_day - hers.today).days) if row is not None else None,
    )


def _mixed(
    db: Session,
    rounds: Sequence[RoundRow],
    by_pair: Mapping[int, Sequence[Counted]],
    said: Mapping[int, AnswerRow],
    reader: Reader,
) -> tuple[MixedUp, ...]:
    """Return what was taken for what in a drill, the most frequent first; thirds included."""
    catalogue_of = {logged.pair_id: logged.catalogue_id for logged in rounds}
    counts: Counter[tuple[int, int, int]] = Counter()
    for pair_id, showings in by_pair.items():
        for showing, counts_as in showings:
            if said[showing.id].said != counts_as.key:
                counts[(pair_id, counts_as.form_id, form_said(showing, said[showing.id].said))] += 1
    wanted: dict[int, set[int]] = defaultdict(set)
    for pair_id, _, _ in counts:
        wanted[catalogue_of[pair_id]].add(pair_id)
    shown = {shown_id for _, shown_id, _ in counts}
    forms: dict[int, Mapping[int, Form]] = {}
    for catalogue_id, pair_ids in wanted.items():
        lores = lore_of_pairs(db, catalogue_id, pair_ids, as_shown=shown, reader=reader)
        forms |= {pair_id: lore.forms for pair_id, lore in lores.items()}
    return tuple(
        MixedUp(forms[pair_id][shown_id], None if said_id == NEITHER else forms[pair_id][said_id], times)
        for (pair_id, shown_id, said_id), times in counts.most_common()
    )
