"""Sends what waits in the outbox: each letter is claimed, handed in outside of any work on the database, and settled."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from drillhall.errors import NotFound
from drillhall.pictures import for_mail, serving
from drillhall.pictures.storage import Storage
from drillhall.post import mail, outbox
from drillhall.post.mail import Enclosed, Written
from drillhall.post.office import Office
from drillhall.post.outbox import Claimed
from drillhall.post.sending import NotSent, send
from drillhall.store.session import Store


def send_waiting(store: Store, storage: Storage, office: Office, *, clock: Callable[[], datetime], most: int = 200) -> int:
    """Send letters until none is due or `most` were tried, and return how many went.

    `clock` is read anew for each, since a server may be slow.
    A letter goes twice only where this process dies, or loses the database, between the server's last word and writing it down.
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
        send(office.server, mail.write_message(_written(store, storage, office, letter, clock()), at=clock()))
    except NotSent as failed:
        with store.work() as db:
            outbox.settle_failed(db, letter, str(failed), for_good=failed.for_good, at=clock())
        return False
    with store.work() as db:
        outbox.settle_sent(db, letter, at=clock())
    return True


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
