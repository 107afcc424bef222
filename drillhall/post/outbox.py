"""The outbox: letters are put into it in the work that they tell of, and taken out by one worker at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final
from uuid import NAMESPACE_URL, uuid5

from sqlalchemy import delete, func, or_, select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from drillhall.post.mail import Block, message_id, write_html, write_text
from drillhall.store.models.post import LetterRow
from drillhall.words.said import value_told

WAITS: Final = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 30, 120, 360, 720, 1440, 1440))
"""How long is waited after each try that failed; after the last, the letter is given up, about three and a half days on."""
CLAIM: Final = timedelta(minutes=10)
"""How long whoever sends a letter has it alone: longer than `sending.LONGEST` by far."""
KEPT: Final = timedelta(days=30)
"""How long it is remembered that a letter went, without its words or where to."""


@dataclass(frozen=True, slots=True)
class Envelope:
    """Whom a letter is for and what it is about; `key` names it once and for all, `until` is when it comes too late.

    `language` is that of whoever gets it: what was said in the letter is told in it.
    """

    key: str
    kind: str
    address: str
    account_id: int | None = None
    subscription_id: int | None = None
    unsubscribe: str = ""
    picture: str = ""
    recipe: str = ""
    until: datetime | None = None
    language: str = "en"


@dataclass(frozen=True, slots=True)
class Claimed:
    """A letter that one worker has for itself; `claim` is which try this is."""

    id: int
    claim: int
    address: str
    subject: str
    text: str
    html: str
    unsubscribe: str
    picture: str
    recipe: str
    message_id: str
    account_id: int | None
    subscription_id: int | None


@dataclass(frozen=True, slots=True)
class PostState:
    """How the post stands, without saying whose: letters that wait, when the last one went, and the last fault.

    `refused` is how many addresses were lately refused for good.
    """

    waiting: int
    sent_at: datetime | None
    fault: str
    fault_at: datetime | None
    refused: int


def put(db: Session, envelope: Envelope, subject: str, blocks: Sequence[Block], *, public_url: str, at: datetime) -> bool:
    """Put a letter into the outbox, in the work of whoever calls; return False where the same one was put there before."""
    insert = postgresql.insert if db.get_bind().dialect.name == "postgresql" else sqlite.insert
    subject = value_told(subject, envelope.language)
    blocks = [replace(block, words=value_told(block.words, envelope.language)) for block in blocks]
    values = {
        "key": envelope.key,
        "kind": envelope.kind,
        "account_id": envelope.account_id,
        "subscription_id": envelope.subscription_id,
        "address": envelope.address,
        "subject": subject[:250],
        "text": write_text(blocks),
        "html": write_html(blocks, title=subject, language=envelope.language),
        "unsubscribe": envelope.unsubscribe,
        "picture": envelope.picture,
        "recipe": envelope.recipe,
        "message_id": message_id(uuid5(NAMESPACE_URL, f"{public_url} {envelope.key}").hex, public_url),
        "made_at": at,
        "due_at": at,
        "until": envelope.until,
        "tries": 0,
        "fault": "",
    }
    kept = db.execute(insert(LetterRow).values(values).on_conflict_do_nothing(index_elements=[LetterRow.key]).returning(LetterRow.id))
    return kept.one_or_none() is not None


def claim(db: Session, *, at: datetime) -> Claimed | None:
    """Take the letter that has waited longest, for this worker alone, or None where none is due. Commit before it is sent.

    On PostgreSQL a row that another worker is just taking is passed over; SQLite has one writer at a time anyway.
    """
    give_up_late(db, at=at)
    row = db.scalars(
        select(LetterRow)
        .where(LetterRow.sent_at.is_(None), LetterRow.given_up_at.is_(None), LetterRow.due_at <= at)
        .where(or_(LetterRow.claimed_until.is_(None), LetterRow.claimed_until <= at))
        .order_by(LetterRow.due_at, LetterRow.id)
        .limit(1)
        .with_for_update(skip_locked=True)
    ).one_or_none()
    if row is None:
        return None
    row.tries, row.claimed_until = row.tries + 1, at + CLAIM
    db.flush()
    said = (row.address, row.subject, row.text, row.html, row.unsubscribe, row.picture, row.recipe, row.message_id)
    return Claimed(row.id, row.tries, *said, row.account_id, row.subscription_id)


def settle_sent(db: Session, letter: Claimed, *, at: datetime) -> None:
    """Note that a letter went, and forget what it said and to whom."""
    _settle(db, letter, sent_at=at, fault="", **_BARE)


def settle_failed(db: Session, letter: Claimed, fault: str, *, for_good: bool, at: datetime) -> None:
    """Note that a try failed: the letter waits for the next one, longer each time, or is given up."""
    if for_good or letter.claim > len(WAITS):
        _settle(db, letter, given_up_at=at, fault=fault[:160], **_BARE)
    else:
        _settle(db, letter, due_at=at + WAITS[letter.claim - 1], fault=fault[:160])


def settle_refused(db: Session, letter: Claimed, fault: str, *, about: str, at: datetime) -> bool:
    """Give a letter up whose address is refused for good, and return whether it was this worker's to give up.

    It is remembered as one of `about` (an open question's name in addresses; empty: of nothing in particular), whatever is deleted next.
    """
    said = {"given_up_at": at, "fault": fault[:160], "key": f"{_REFUSED} {about} {letter.id}", "subscription_id": None}
    return _settle(db, letter, **said, **_BARE)


def count_refused(db: Session, about: str) -> int:
    """Return how many addresses to which letters about something went were refused for good, as long as that is remembered."""
    return db.scalar(select(func.count()).where(LetterRow.key.startswith(f"{_REFUSED} {about} ", autoescape=True))) or 0


def find_refused(db: Session, account_id: int) -> datetime | None:
    """Return when an address of somebody's was last refused for good, as long as that is remembered."""
    is_hers = LetterRow.account_id == account_id
    return db.scalar(select(func.max(LetterRow.given_up_at)).where(is_hers, LetterRow.key.startswith(f"{_REFUSED} ")))


def give_up_late(db: Session, *, at: datetime) -> None:
    """Give up the letters whose time has passed while they waited."""
    late = update(LetterRow).where(LetterRow.sent_at.is_(None), LetterRow.given_up_at.is_(None), LetterRow.until <= at)
    free = or_(LetterRow.claimed_until.is_(None), LetterRow.claimed_until <= at)
    db.execute(late.where(free).values(given_up_at=at, **_BARE))


def forget_old(db: Session, *, at: datetime, kept: timedelta = KEPT) -> None:
    """Forget letters that went, or were given up, longer ago than they are kept."""
    db.execute(delete(LetterRow).where(or_(LetterRow.sent_at < at - kept, LetterRow.given_up_at < at - kept)))


def drop_waiting(db: Session, account_id: int, kinds: Sequence[str]) -> None:
    """Drop what waits for somebody, of some kinds."""
    db.execute(
        delete(LetterRow).where(
            LetterRow.account_id == account_id, LetterRow.kind.in_(kinds), LetterRow.sent_at.is_(None), LetterRow.given_up_at.is_(None)
        )
    )


def drop_to(db: Session, account_id: int, address: str) -> None:
    """Drop what waits for somebody at an address."""
    waits = LetterRow.sent_at.is_(None) & LetterRow.given_up_at.is_(None)
    db.execute(delete(LetterRow).where(LetterRow.account_id == account_id, LetterRow.address == address, waits))


def the_state(db: Session) -> PostState:
    """Return how the post stands."""
    waits = select(func.count()).where(LetterRow.sent_at.is_(None), LetterRow.given_up_at.is_(None))
    failed = select(LetterRow.fault, LetterRow.made_at).where(LetterRow.fault != "").order_by(LetterRow.id.desc()).limit(1)
    fault = db.execute(failed).one_or_none()
    last = db.scalar(select(func.max(LetterRow.sent_at)))
    refused = db.scalar(select(func.count()).where(LetterRow.key.startswith(f"{_REFUSED} "))) or 0
    return PostState(db.scalar(waits) or 0, last, fault[0] if fault else "", fault[1] if fault else None, refused)


_REFUSED: Final = "refused"
_BARE: Final = {"address": "", "subject": "", "text": "", "html": "", "unsubscribe": "", "picture": "", "recipe": "", "claimed_until": None}


def _settle(db: Session, letter: Claimed, **values: object) -> bool:
    """Write down how a try went, unless the claim ran out and another worker has the letter by now; return whether it was written."""
    mine = update(LetterRow).where(LetterRow.id == letter.id, LetterRow.tries == letter.claim, LetterRow.sent_at.is_(None))
    return db.scalar(mine.values({"claimed_until": None} | values).returning(LetterRow.id)) is not None
