"""Learning records of a group: the answers that whoever leads it may know by name, told of learners without a name."""

from __future__ import annotations

import hmac
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from hashlib import sha256
from uuid import UUID

from sqlalchemy.orm import Session

from drillhall.core.kinds import form
from drillhall.core.values import NEITHER, Pair
from drillhall.practice.exports.xapi import LearningRecord
from drillhall.practice.judging import form_said, judged, told_ask
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.weak_spots.counting import Chosen, the_given
from drillhall.practice.weak_spots.seeing import head_role, who_is_seen
from drillhall.store.models.practice import AnswerRow, RoundRow, ShowingRow
from drillhall.store.queries import records as reading
from drillhall.words import joined, say
from drillhall.words.speaking import ENGLISH, known_language

Veil = Callable[[str], str]


def learning_records(db: Session, group_id: int, kind: str, *, secret: str, at: datetime) -> Iterator[LearningRecord]:
    """Yield the records of those in a group who are seen by name, of pairs that it is given, since each joined.

    `secret` is the hall's: names are drawn from it by HMAC-SHA256, the same for a group each time and different in every other, so that
    nobody without it can turn one back. An answer whose time is still to come is told as of now: no record may lie in the future.
    """
    named = who_is_seen(db, group_id, head_role(kind)).named
    given = the_given(db, group_id, Chosen())
    if not named or not given.pairs:
        return
    wanted: dict[int, list[int]] = defaultdict(list)
    for row in given.pairs.values():
        wanted[row.catalogue_id].append(row.pair_id)
    pairs = {id_: lore.pair for catalogue_id, ids in wanted.items() for id_, lore in lore_of_pairs(db, catalogue_id, ids).items()}
    veil = _veil(secret, group_id)
    rows = reading.known_answers(db, group_id, [one.account_id for one in named], list(pairs))
    for answer, showing, logged, form_id in rows:
        record = _record(answer, showing, logged, form_id, pairs, veil, at)
        if record is not None:
            yield record


def _record(
    answer: AnswerRow, showing: ShowingRow, logged: RoundRow, form_id: int | None, pairs: Mapping[int, Pair], veil: Veil, at: datetime
) -> LearningRecord | None:
    """Return an answer as a record; None where it is none to the question which form it is, or nobody can say what was right."""
    stored = showing.asks[answer.ask]
    if stored["kind"] != form.KEY or (found := judged(showing, form_id)) is None:
        return None
    pair = pairs[logged.pair_id]
    return LearningRecord(
        id=_uuid(veil(f"answer {answer.id}")),
        learner=veil(f"learner {answer.account_id}")[:32],
        drill=_uuid(veil(f"drill {logged.drill_id}")),
        pair_id=logged.pair_id,
        catalogue_id=logged.catalogue_id,
        picture=veil(f"picture {showing.picture_id}")[:16],
        language=pair.first.language,
        choices=tuple((choice, _named(pair, int(choice))) for choice in told_ask(showing, answer.ask).choices),
        key=str(form_said(showing, found.key)),
        said=str(form_said(showing, answer.said)),
        sure=answer.sure or "",
        seconds=answer.seconds,
        hint=answer.hint,
        fresh=showing.fresh,
        rendition=showing.rendition,
        at=min(answer.at, at),
    )


def _named(pair: Pair, form_id: int) -> str:
    """Return what a choice is called, all of it in the language of the pair's names."""
    language = known_language(pair.first.language) or ENGLISH
    if form_id == NEITHER:
        return say("neither").told(language)
    shown = pair.form(form_id)
    return joined(", ", filter(None, (shown.name, shown.wears))).told(language)


def _veil(secret: str, group_id: int) -> Veil:
    key = hmac.new(secret.encode(), f"learning records of group {group_id}".encode(), sha256).digest()
    return lambda what: hmac.new(key, what.encode(), sha256).hexdigest()


def _uuid(veiled: str) -> str:
    """Return a veiled name as a UUID that says it was made by the application's own rule (RFC 9562, version 8)."""
    number = int(veiled[:32], 16)
    number = number & ~(0xF << 76) | 8 << 76
    return str(UUID(int=number & ~(0x3 << 62) | 0x2 << 62))
