"""What a look ahead reads: the days on which a learner drilled, the hall's rated rounds, her answers to questions about traits."""

from __future__ import annotations

from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drillhall.store.models.practice import DrillRow, MemoryRow, PromptTallyRow

MOST_MEMORIES = 2000
"""So many of the hall's memories, those of the latest rounds, say enough about all."""


def days_drilled(db: Session, account_id: int, *, since: date) -> tuple[int, date | None]:
    """Return on how many days since then a learner drilled, and her first day ever."""
    hers = DrillRow.account_id == account_id
    query = select(func.count(func.distinct(DrillRow.local_day)).filter(DrillRow.local_day >= since), func.min(DrillRow.local_day))
    days, first = db.execute(query.where(hers)).one()
    return int(days), first


def recalled_rounds(db: Session) -> list[tuple[int, list[list[float]]]]:
    """Return, by learner and pair, the recall before each rated round after the first, with 1 or 0 for held or not."""
    query = (
        select(MemoryRow.account_id, MemoryRow.recalled)
        .where(MemoryRow.rounds > 1)
        .order_by(MemoryRow.last_day.desc(), MemoryRow.account_id, MemoryRow.pair_id)
        .limit(MOST_MEMORIES)
    )
    return [(account_id, recalled) for account_id, recalled in db.execute(query)]


def prompt_misses(db: Session, account_id: int, *, since_week: int) -> list[tuple[int, str, int, int, int]]:
    """Return (catalogue, trait, week, missed, shown) of a learner's answers to questions about traits, over all her pairs."""
    query = (
        select(
            PromptTallyRow.catalogue_id,
            PromptTallyRow.trait,
            PromptTallyRow.week,
            func.sum(PromptTallyRow.missed),
            func.sum(PromptTallyRow.shown),
        )
        .where(PromptTallyRow.account_id == account_id, PromptTallyRow.week >= since_week)
        .group_by(PromptTallyRow.catalogue_id, PromptTallyRow.trait, PromptTallyRow.week)
    )
    return [(catalogue, trait, week, int(missed), int(shown)) for catalogue, trait, week, missed, shown in db.execute(query)]
