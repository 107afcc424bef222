"""Sends what waits in the outbox: each letter is claimed, handed in outside of any work on the database, and settled."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people import addresses
from drillhall.pictures import for_mail, serving
from drillhall.pictures.storage import Storage
from drillhall.post import mail, outbox
from drillhall.post.mail import Enclosed, Written
from drillhall.post.office import Office
from drillhall.post.outbox import Claimed
from drillhall.post.sending import NotSent, send
from drillhall.practice.open_questions import subscribing
from drillhall.store.session import Store


def send_waiting(store: Store, storage: Storage, office: Office, *, clock: Callable[[], datetime], most: int = 200) -> int:
    """Send letters until none is due or `most` were tried, and return how many went.

    `clock` is read anew for each, since a server may be slow.
    A letter goes twice only where this process dies, or loses the database, between the server's last word and writing it down,
    which is the next thing done; it bears the same Message-ID then.
    """
    sent = 0
    for _ in range(most):
        with store.work() as db:
            letter = outbox.claim(db, at=clock())
        if letter is None:
            return sent
        sent += _send_one(store, storage, office, letter, clock)
    return sent


def _send_one(store: Store, storage: Storage, office: Office, letter: Claimed, clock: Callable[[], datetime]) -> bool:
    try:
        message = mail.write_message(_written(store, storage, office, letter, clock()), at=clock())
        send(office.server, message, lambda: _note_sent(store, letter, clock()))
    except NotSent as failed:
        with store.work() as db:
            if failed.no_such_address:
                _end_refused(db, letter, str(failed), at=clock())
            else:
                outbox.settle_failed(db, letter, str(failed), for_good=failed.for_good, at=clock())
        return False
    return True


def _note_sent(store: Store, letter: Claimed, at: datetime) -> None:
    with store.work() as db:
        outbox.settle_sent(db, letter, at=at)


def _end_refused(db: Session, letter: Claimed, fault: str, *, at: datetime) -> None:
    """Send nothing more to where no letter gets, by what the letter came of: a subscription, or the address that somebody gave."""
    about = subscribing.find_question(db, letter.subscription_id) if letter.subscription_id is not None else ""
    if not outbox.settle_refused(db, letter, fault, about=about, at=at):
        return
    if letter.subscription_id is not None:
        subscribing.end_refused(db, letter.subscription_id)
    elif letter.account_id is not None:
        addresses.forget_refused(db, letter.account_id, letter.address)
        outbox.drop_to(db, letter.account_id, letter.address)


def _written(store: Store, storage: Storage, office: Office, letter: Claimed, at: datetime) -> Written:
    enclosed = None
    if letter.picture:
        try:
            with store.look() as db:
                served = serving.the_open_file(db, storage, public_id=letter.picture, recipe=letter.recipe, on=at.date())
        except NotFound:
            raise NotSent("its picture may not be shown to everybody any more", for_good=True) from None
        enclosed = Enclosed(for_mail.as_jpeg(served.content), for_mail.MEDIA_TYPE)
    return Written(office.sender, letter.address, letter.subject, letter.text, letter.html, letter.message_id, letter.unsubscribe, enclosed)
