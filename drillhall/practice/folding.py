"""Keeps memory, tally, sights and local days in step with the log: each is computed from the answers alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime

from sqlalchemy import and_, delete, false, func, or_, select
from sqlalchemy.orm import Session

from drillhall.core.folding import (
    BesideKey,
    LoggedAnswer,
    LoggedRound,
    LoggedShowing,
    PromptCount,
    PromptKey,
    days_of_drills,
    fold_pair,
    judged_beside,
    judged_by,
)
from drillhall.core.joining import renamed
from drillhall.core.memory import Parameters, due_day
from drillhall.core.values import Memory, Rendition, Sure, TallyKey
from drillhall.practice.asks import ask_of
from drillhall.practice.freshness import refold_freshness
from drillhall.practice.remembering import memory_of, parameters_of
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import (
    AnswerRow,
    BesideTallyRow,
    DrillRow,
    MemoryRow,
    PromptTallyRow,
    RoundRow,
    ShowingRow,
    SightRow,
    TallyRow,
)
from drillhall.store.queries import log, sights


def rebuild(db: Session, *, progress: Callable[[int, int], None] = lambda done, of: None) -> int:
    """Compute every memory, tally, sight and local day again from the answers; return how many learners that was.

    Parameters
    ----------
    progress : called with (learners done, learners in all) after each.
    """
    rarities = log.rarity_pictures(db)
    learners = sorted({*db.scalars(select(AnswerRow.account_id).distinct()), *rarities})
    for table in (MemoryRow, TallyRow, PromptTallyRow, BesideTallyRow, SightRow):
        db.execute(delete(table))
    for number, account_id in enumerate(learners, 1):
        drills = db.scalars(select(DrillRow.id).where(DrillRow.account_id == account_id)).all()
        refold_days(db, account_id, drills)
        shown = sights.pictures_shown(db, account_id)
        refold_freshness(db, account_id, shown)
        pairs = db.scalars(select(RoundRow.pair_id).where(RoundRow.account_id == account_id).distinct()).all()
        refold_pairs(db, account_id, pairs)
        refold_sights(db, account_id, {*shown, *rarities.get(account_id, ())})
        progress(number, len(learners))
    return len(learners)


def refold_days(db: Session, account_id: int, drill_ids: Iterable[str]) -> set[int]:
    """Set the local day of some drills and of those after them; return the pairs of drills whose day has moved."""
    touched = {drill.id: drill for drill in db.scalars(select(DrillRow).where(DrillRow.id.in_(list(drill_ids))))}
    firsts = _first_answers(db, touched)
    for drill_id, first_at in firsts.items():
        touched[drill_id].first_at = first_at
    db.flush()
    if not firsts:
        return set()
    since = min(firsts.values())
    before = db.scalars(
        select(DrillRow.local_day)
        .where(DrillRow.account_id == account_id, DrillRow.first_at < since, DrillRow.local_day.is_not(None))
        .order_by(DrillRow.first_at.desc())
        .limit(1)
    ).first()
    later = db.scalars(select(DrillRow).where(DrillRow.account_id == account_id, DrillRow.first_at >= since)).all()
    days = days_of_drills([(drill.id, drill.zone, drill.first_at) for drill in later if drill.first_at], not_before=before)
    moved = [drill.id for drill in later if drill.local_day not in (None, days[drill.id])]
    for drill in later:
        drill.local_day = days[drill.id]
    db.flush()
    return set(db.scalars(select(RoundRow.pair_id).where(RoundRow.drill_id.in_(moved)))) if moved else set()


def _first_answers(db: Session, drill_ids: Iterable[str]) -> dict[str, datetime]:
    query = (
        select(RoundRow.drill_id, func.min(AnswerRow.at).label("first_at"))
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(RoundRow.drill_id.in_(list(drill_ids)))
        .group_by(RoundRow.drill_id)
    )
    return {row.drill_id: row.first_at for row in db.execute(query)}


def refold_pairs(db: Session, account_id: int, pair_ids: Iterable[int]) -> None:
    """Fold the whole log of some pairs of a learner and store what it comes to."""
    account = db.get_one(AccountRow, account_id)
    parameters = parameters_of(db, account_id)
    logs = logged_rounds(db, account_id, pair_ids)
    for pair_id in sorted(set(pair_ids)):
        fold = fold_pair(logs.get(pair_id, []), parameters=parameters)
        _keep_tally(db, account_id, pair_id, fold.tally)
        _keep_prompts(db, account_id, pair_id, fold.prompts)
        _keep_besides(db, account_id, pair_id, fold.besides)
        db.execute(delete(MemoryRow).where(MemoryRow.account_id == account_id, MemoryRow.pair_id == pair_id))
        if fold.memory is not None:
            db.add(_memory_row(account, pair_id, fold.memory, fold.recalled, parameters))
    db.flush()


def _keep_tally(db: Session, account_id: int, pair_id: int, tally: Mapping[TallyKey, int]) -> None:
    db.execute(delete(TallyRow).where(TallyRow.account_id == account_id, TallyRow.pair_id == pair_id))
    db.add_all(
        TallyRow(
            account_id=account_id,
            pair_id=pair_id,
            shown_form_id=key.shown_form_id,
            said_form_id=key.said_form_id,
            week=key.week,
            fresh=key.fresh,
            prompted=key.prompted,
            rendition=key.rendition.value,
            orientation=key.orientation,
            choices=key.choices,
            count=count,
        )
        for key, count in tally.items()
    )


def _memory_row(
    account: AccountRow, pair_id: int, memory: Memory, recalled: Iterable[tuple[float, bool]], parameters: Parameters
) -> MemoryRow:
    due = due_day(memory, target_recall=account.target_recall, account_id=account.id, pair_id=pair_id, parameters=parameters)
    return MemoryRow(
        account_id=account.id,
        pair_id=pair_id,
        stability_days=memory.stability_days,
        difficulty=memory.difficulty,
        last_day=memory.last_day,
        rounds=memory.rounds,
        held_running=memory.held_running,
        last_outcome=memory.last.value,
        due_day=due,
        recalled=[[chance, int(held)] for chance, held in recalled],
    )


def _keep_prompts(db: Session, account_id: int, pair_id: int, prompts: Mapping[PromptKey, PromptCount]) -> None:
    db.execute(delete(PromptTallyRow).where(PromptTallyRow.account_id == account_id, PromptTallyRow.pair_id == pair_id))
    for (catalogue_id, trait, week), (missed, shown) in prompts.items():
        row = PromptTallyRow(account_id=account_id, pair_id=pair_id, catalogue_id=catalogue_id, trait=trait, week=week)
        row.missed, row.shown = missed, shown
        db.add(row)


def _keep_besides(db: Session, account_id: int, pair_id: int, besides: Mapping[BesideKey, PromptCount]) -> None:
    db.execute(delete(BesideTallyRow).where(BesideTallyRow.account_id == account_id, BesideTallyRow.pair_id == pair_id))
    for (form_id, week), (missed, shown) in besides.items():
        row = BesideTallyRow(account_id=account_id, pair_id=pair_id, asked_form_id=form_id, week=week)
        row.missed, row.shown = missed, shown
        db.add(row)


def refold_pictures(
    db: Session, picture_ids: Iterable[int], *, progress: Callable[[int, int], None] = lambda done, of: None
) -> tuple[int, int]:
    """Fold anew every pair of every learner who has answered on some pictures, whose labels have changed in this piece of work.

    Parameters
    ----------
    picture_ids : their rows are written already, so that an answer given meanwhile waits for us or we for it.
    progress : called with (learners done, learners in all) after each.

    Returns
    -------
    How many pictures answered were judged anew, and of how many learners. What each has seen, and when, does not hang on labels.
    """
    wanted = sorted(set(picture_ids))
    touched = (
        select(RoundRow.account_id, RoundRow.pair_id)
        .join(ShowingRow, ShowingRow.round_id == RoundRow.id)
        .join(AnswerRow, AnswerRow.showing_id == ShowingRow.id)
        .where(log.shows_any(wanted))
        .distinct()
    )
    pairs: dict[int, set[int]] = defaultdict(set)
    for account_id, pair_id in db.execute(touched):
        pairs[account_id].add(pair_id)
    for number, account_id in enumerate(sorted(pairs), 1):
        db.execute(select(AccountRow.id).where(AccountRow.id == account_id).with_for_update())
        refold_pairs(db, account_id, pairs[account_id])
        progress(number, len(pairs))
    return count_answered(db, wanted)


def count_answered(db: Session, picture_ids: Iterable[int]) -> tuple[int, int]:
    """Return how many showings of some pictures have been answered, and by how many learners."""
    return log.count_answered(db, picture_ids)


def rewrite_due_days(db: Session, account_id: int) -> None:
    """Derive a learner's due days again: her target recall has changed, which is no part of history."""
    account = db.scalars(select(AccountRow).where(AccountRow.id == account_id).with_for_update()).one()
    target, parameters = account.target_recall, parameters_of(db, account_id)
    for row in db.scalars(select(MemoryRow).where(MemoryRow.account_id == account_id)):
        memory = memory_of(row)
        row.due_day = due_day(memory, target_recall=target, account_id=account_id, pair_id=row.pair_id, parameters=parameters)
    db.flush()


def logged_rounds(db: Session, account_id: int, pair_ids: Iterable[int]) -> dict[int, list[LoggedRound]]:
    """Return the log of some pairs of a learner as plain values: every round with an answer, by pair."""
    return {pair_id: rounds for (_, pair_id), rounds in logged_rounds_of(db, {account_id: pair_ids}).items()}


def logged_rounds_of(db: Session, wanted: Mapping[int, Iterable[int]]) -> dict[tuple[int, int], list[LoggedRound]]:
    """Return the log of some pairs of each of some learners, by learner and pair.

    Each showing is judged by the form that its picture is said to show now, whatever it was said to show when it was planned.
    """
    hers = (and_(RoundRow.account_id == account_id, RoundRow.pair_id.in_(list(pair_ids))) for account_id, pair_ids in wanted.items())
    query = (
        select(AnswerRow, ShowingRow, RoundRow, DrillRow)
        .join(ShowingRow, ShowingRow.id == AnswerRow.showing_id)
        .join(RoundRow, RoundRow.id == ShowingRow.round_id)
        .join(DrillRow, DrillRow.id == RoundRow.drill_id)
        .where(or_(false(), *hers))
    )
    answers: dict[int, list[LoggedAnswer]] = defaultdict(list)
    rounds: dict[int, tuple[RoundRow, DrillRow]] = {}
    for answer, showing, logged, drill in db.execute(query):
        answers[showing.id].append(_answer(answer))
        rounds[logged.id] = (logged, drill)
    by_round: dict[int, list[LoggedShowing]] = defaultdict(list)
    for showing, form_id, other_id, beside_id in log.judging_rows(db, rounds):
        stands_for = showing.renamed or {}
        logged_showing = renamed(_showing(showing, answers[showing.id]), other_id, stands_for)
        is_two = showing.beside_id is not None
        judged = judged_beside(logged_showing, other_id, (form_id, beside_id)) if is_two else judged_by(logged_showing, form_id)
        by_round[showing.round_id].append(judged)
    found: dict[tuple[int, int], list[LoggedRound]] = defaultdict(list)
    for logged, drill in rounds.values():
        assert drill.local_day is not None  # set as soon as the drill has an answer
        ordered = tuple(sorted(by_round[logged.id], key=lambda showing: showing.place))
        one = LoggedRound(logged.id, drill.local_day, drill.pace_ms / 1000, ordered, drill.is_trial, logged.catalogue_id)
        found[(logged.account_id, logged.pair_id)].append(one)
    return found


def _answer(row: AnswerRow) -> LoggedAnswer:
    sure = Sure(row.sure) if row.sure else None
    return LoggedAnswer(id=row.id, ask=row.ask, said=row.said, sure=sure, seconds=row.seconds, hint=row.hint, at=row.at)


def _showing(row: ShowingRow, answers: Sequence[LoggedAnswer]) -> LoggedShowing:
    asks = tuple(ask_of(stored) for stored in row.asks)
    return LoggedShowing(
        id=row.id,
        place=row.place,
        form_id=row.form_id,
        asks=asks,
        fresh=row.fresh,
        prompted=row.prompted,
        third=row.third,
        rendition=Rendition(row.rendition),
        orientation=row.orientation,
        answers=tuple(answers),
    )


def refold_sights(db: Session, account_id: int, picture_ids: Iterable[int]) -> None:
    """Set the learner's first and last sight of some pictures."""
    pictures = set(picture_ids)
    seen: dict[int, tuple[datetime, datetime, int]] = {}
    for picture_id, first, last, times in (*sights.seen_in_drills(db, account_id, pictures), *log.rarity_sights(db, account_id, pictures)):
        known = seen.get(picture_id)
        seen[picture_id] = (min(first, known[0]), max(last, known[1]), times + known[2]) if known else (first, last, times)
    db.execute(delete(SightRow).where(SightRow.account_id == account_id, SightRow.picture_id.in_(pictures)))
    db.add_all(
        SightRow(account_id=account_id, picture_id=picture_id, first_at=first, last_at=last, times=times)
        for picture_id, (first, last, times) in seen.items()
    )
    db.flush()
