"""The links in letters: what asks for them, and what following one does."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Final

from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people import addresses
from drillhall.people.person import Person
from drillhall.post import outbox, sealing
from drillhall.post.mail import Block
from drillhall.post.office import Office
from drillhall.post.outbox import Envelope
from drillhall.practice.open_questions import subscribing
from drillhall.practice.open_questions.keeping import OpenQuestion
from drillhall.words import say, speaking
from drillhall.words.speaking import known_language

REMINDER: Final = "reminder"


def ask_address(db: Session, office: Office, person: Person, typed: str, *, public_id: str, at: datetime) -> None:
    """Keep somebody's address and write to it for her to confirm; one that is confirmed already gets no letter."""
    reached = addresses.say_address(db, person, typed, public_id=public_id, at=at)
    if reached.confirmed_at is not None:
        return
    drop_letters(db, person)
    language = known_language(person.preferences.language) or office.language
    envelope = Envelope(
        f"address {reached.public_id}", "confirm", reached.address, account_id=person.id, until=at + addresses.HOLDS, language=language
    )
    blocks = [
        Block(
            say(
                "Somebody, you we hope, has said in the hall at {url} that {name} is reached here.", url=office.public_url, name=person.name
            )
        ),
        Block(
            say("If that is right, open this page and say so. It holds for two days:"),
            office.link(sealing.CONFIRM_ADDRESS, reached.public_id, until=at + addresses.HOLDS),
        ),
        Block(say("If it is not, do nothing: nothing more comes, and the address is forgotten.")),
    ]
    outbox.put(db, envelope, say("Shall mail of the hall come to this address?"), blocks, public_url=office.public_url, at=at)


def forget_address(db: Session, person: Person) -> None:
    """Forget where somebody is reached, with every letter that waits for her."""
    drop_letters(db, person)
    addresses.forget_address(db, person)


def drop_letters(db: Session, person: Person) -> None:
    """Drop every letter that waits for somebody."""
    outbox.drop_waiting(db, person.id, (REMINDER, "confirm"))


def want_reminders(db: Session, person: Person, *, wants: bool) -> None:
    """Say whether one wants reminders; without, those that wait are dropped."""
    addresses.want_reminders(db, person, wants=wants)
    if not wants:
        outbox.drop_waiting(db, person.id, (REMINDER,))


def ask_question(db: Session, office: Office, question: OpenQuestion, typed: str, *, public_id: str, at: datetime) -> None:
    """Keep an address for an open question's mail and write to it to be confirmed; whether it was known already shows nowhere.

    The letter is in the language that is spoken: that of whoever asks for it.
    """
    asked = subscribing.subscribe(db, question, typed, public_id=public_id, at=at)
    if asked is None:
        return
    envelope = Envelope(
        f"asked {asked.public_id}", "confirm", asked.address, subscription_id=asked.id, until=at + subscribing.HOLDS, language=speaking()
    )
    blocks = [
        Block(
            say("Somebody, you we hope, has asked that the open question “{title}” come here by mail, once a day.", title=question.title)
        ),
        Block(
            say("If you want it, open this page and say so. It holds for two days:"),
            office.link(sealing.CONFIRM_QUESTION, asked.public_id, until=at + subscribing.HOLDS),
        ),
        Block(say("If you do not, do nothing: nothing more comes, and the address is forgotten.")),
    ]
    outbox.put(db, envelope, say("{title}: shall it come by mail?", title=question.title), blocks, public_url=office.public_url, at=at)


def follow(db: Session, purpose: str, public_id: str, *, at: datetime) -> None:
    """Do what a link is for; raise NotFound where there is no such purpose, or a confirmation comes too late."""
    if purpose not in FOLLOWED:
        raise NotFound(say("There is no such page here."))
    FOLLOWED[purpose](db, public_id, at)


def _stop_reminders(db: Session, public_id: str, _at: datetime) -> None:
    account_id = addresses.stop_reminders(db, public_id)
    if account_id is not None:
        outbox.drop_waiting(db, account_id, (REMINDER,))


FOLLOWED: Final[Mapping[str, Callable[[Session, str, datetime], None]]] = MappingProxyType(
    {
        sealing.CONFIRM_ADDRESS: lambda db, public_id, at: addresses.confirm_address(db, public_id, at=at),
        sealing.STOP_REMINDERS: _stop_reminders,
        sealing.CONFIRM_QUESTION: lambda db, public_id, at: subscribing.confirm(db, public_id, at=at),
        sealing.STOP_QUESTION: lambda db, public_id, _at: subscribing.stop(db, public_id),
    }
)
