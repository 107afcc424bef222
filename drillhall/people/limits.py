"""How often something may be tried; counted in the database, so that several processes count together."""

from __future__ import annotations

import hmac
import ipaddress
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from sqlalchemy import delete
from sqlalchemy.orm import Session

from drillhall.errors import TooMany
from drillhall.store.models.people import AttemptRow
from drillhall.store.queries.attempts import add_attempt
from drillhall.words import Said, say, say_n

KEPT = timedelta(days=2)


@dataclass(frozen=True, slots=True)
class Limit:
    """So many tries within a window; `what` is told before how long to wait."""

    key: str
    what: Said
    most: int
    window: timedelta


SIGN_IN_ONE = Limit("sign-in", say("Too many tries to sign in with this name."), 10, timedelta(minutes=15))
"""By name and place together, so that a stranger elsewhere cannot lock somebody out soon."""
SIGN_IN_NAME = Limit("sign-in name", say("Too many tries to sign in with this name."), 200, timedelta(hours=24))
SIGN_IN_PLACE = Limit("sign-in place", say("Too many tries to sign in from this place."), 120, timedelta(minutes=15))
"""High enough for a class of thirty behind one address."""
FIRST_RUN = Limit("first run", say("Too many tries to begin a hall."), 20, timedelta(minutes=15))
JOIN = Limit("join", say("Too many tries to join from this place."), 60, timedelta(minutes=15))
JOIN_CODE = Limit("join code", say("Too many tries to join by a code from this place."), 60, timedelta(minutes=15))
"""High enough for a class of thirty behind one address, of whom each mistypes once."""
JOIN_CODE_HALL = Limit("join code hall", say("Too many tries to join this hall by a code."), 2000, timedelta(hours=1))
"""Of all places together: in the 14 days of a code 672,000 guesses against 28 ** 8, so 1 chance in 560,000 for each good code."""
STEP_IN = Limit("step in", say("Too many tries to step in from this place."), 60, timedelta(minutes=15))
SEND_PICTURE = Limit("send picture", say("Too many tries to send pictures."), 400, timedelta(hours=1))
"""By person: a long outing's worth in one go, and no more than a small machine decodes beside its drills."""
OPEN_ANSWER = Limit("open answer", say("Too many tries to answer from this place."), 120, timedelta(hours=1))
"""High enough for a class behind one address, and no more than a feed reader's worth for one who counts himself often."""
ASK_MAIL = Limit("ask for mail", say("Too many tries to have mail sent."), 10, timedelta(hours=1))
"""By person or veiled place: each try may send a letter to somebody who never asked."""
GIVE_PASSPHRASE = Limit("give passphrase", say("Too many tries to give new passphrases."), 60, timedelta(hours=1))
"""By giver: a class of thirty, twice; whoever makes slips for a whole list spends one."""
CLASS_LIST = Limit("class list", say("Too many tries to read a list."), 20, timedelta(hours=1))
"""By person: a list tells which of its names are taken in this hall."""
NAME_STEWARD = Limit("name steward", say("Too many tries to let somebody write a catalogue."), 30, timedelta(hours=1))
"""By person: each try tells whether somebody of that name is in the hall."""
PASSPHRASE = Limit("passphrase", say("Too many tries to change your passphrase."), 10, timedelta(minutes=15))
SECOND_STEP = Limit("second step", say("Too many tries to give a code."), 10, timedelta(minutes=15))
SECOND_STEP_DAY = Limit("second step day", say("Too many tries to give a code."), 100, timedelta(hours=24))
"""By person: whoever has her passphrase guesses among 10^6 with three good at a time, so 3 chances in 10,000 a day."""
PASSKEY_ASKED = Limit("passkey asked", say("That was asked for once already."), 1, timedelta(minutes=5))
"""What a browser is asked for by a passkey: it holds for five minutes, and is answered once."""
CONFIRM = Limit("confirm", say("Too many tries to show your passphrase."), 10, timedelta(minutes=15))
"""Before what cannot be undone, whoever asks shows once more who she is."""


def spend_try(db: Session, limit: Limit, *who: str, at: datetime) -> None:
    """Count one try, or raise TooMany when this window has had its share.

    Commit this before the try itself, else a failed try would take its count back with it.
    """
    seconds = int(limit.window.total_seconds())
    start = datetime.fromtimestamp(at.timestamp() // seconds * seconds, tz=at.tzinfo)
    tries = add_attempt(db, _subject(limit, who), start)
    if tries > limit.most:
        wait = max(1, int((start + limit.window - at).total_seconds()))
        raise TooMany(
            say("{too_many} Try again in {wait_in_words}.", too_many=limit.what, wait_in_words=wait_in_words(wait)),
            wait_seconds=wait,
        )
    if tries == 1:
        db.execute(delete(AttemptRow).where(AttemptRow.window_start < at - KEPT))


def use_once(db: Session, limit: Limit, what: str, *, made_at: datetime) -> bool:
    """Use up something that is good once and was made at a moment; whether nobody, in whatever process, had used it before."""
    return add_attempt(db, _subject(limit, (what,)), made_at) == 1


def forget_tries(db: Session, limit: Limit, *who: str) -> None:
    """Forget the tries counted so far, after one that was right."""
    db.execute(delete(AttemptRow).where(AttemptRow.subject == _subject(limit, who)))


def veiled_place(limit: Limit, address: str | None, *, key: str, at: datetime) -> str:
    """Return a place as a hash under the hall's secret that holds for one window alone, so that nobody is known again in the next."""
    window = int(at.timestamp()) // int(limit.window.total_seconds())
    return hmac.digest(key.encode(), f"{limit.key} {window} {place_of(address)}".encode(), "sha256").hex()


def place_of(address: str | None) -> str:
    """Return what counts as one place: an IPv4 address, or the half of an IPv6 address that one household has."""
    try:
        ip = ipaddress.ip_address((address or "").partition("%")[0])
    except ValueError:
        return "unknown"
    if isinstance(ip, ipaddress.IPv6Address) and ip.ipv4_mapped is None:
        return str(ipaddress.ip_network((ip, 64), strict=False).network_address)
    return str(ip)


def _subject(limit: Limit, who: tuple[str, ...]) -> str:
    # Hashed, because what is typed as a name is now and then a passphrase.
    return f"{limit.key}:{sha256(chr(0).join(who).encode('utf-8', 'surrogatepass')).hexdigest()}"


def wait_in_words(seconds: int) -> Said:
    """Return a wait as one says it."""
    minutes = -(-seconds // 60)
    if minutes > 90:
        return say_n("about {n} hour", "about {n} hours", round(minutes / 60))
    return say_n("a minute", "{n} minutes", minutes)
