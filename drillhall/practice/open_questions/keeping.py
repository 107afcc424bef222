"""Makes, changes, ends and finds open questions."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final, NoReturn
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from drillhall.core.addresses import ascii_domain
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.store.models.catalogue import PairSetRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.open_questions import OpenQuestionRow
from drillhall.store.queries import open_questions as reading
from drillhall.store.queries.showing import find_set_in_use
from drillhall.words import say

LONGEST_TITLE: Final = 120
MOST_SITES: Final = 5
MOST_RUNNING: Final = 10
_HOST: Final = re.compile(r"(?=.{1,253}\Z)[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?(?:\.[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?)*")


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """A question as anybody may know it, but for `id`; `today` is the day that its zone has now, `group` and `set` are titles.

    `is_running`: it is asked. An ended one, and one whose group or set is out of use, is not.
    """

    id: int
    public_id: str
    title: str
    zone: str
    sites: tuple[str, ...]
    feed_id: str
    first_day: date
    today: date
    group: str
    set: str
    set_id: int
    is_paid: bool
    ended_at: datetime | None
    is_running: bool

    @property
    def tomorrow(self) -> date:
        """The day after today."""
        return self.today + timedelta(days=1)


def make_question(
    db: Session, *, group_id: int, pair_set_id: int, title: str, sites: str, zone: str, public_id: str, seed: str, host: str, at: datetime
) -> None:
    """Make a question that begins today; `seed` is its secret, `host` where it is made: part of its feed's permanent name.

    Raises Invalid where the title, the set or a site will not do, Conflict where the group asks too many already.
    """
    title, origins = _title(title), read_sites(sites)
    if find_set_in_use(db, pair_set_id) is None:
        raise Invalid(say("Choose one of the pair sets."), field="set")
    if sum(question.ended_at is None for question, _, _ in reading.questions_of_group(db, group_id)) >= MOST_RUNNING:
        raise Conflict(say("A group asks {most_running} questions at most. End one first.", most_running=MOST_RUNNING))
    day = at.astimezone(ZoneInfo(zone)).date()
    # RFC 4151: an authority, a date on which it was one's own, and a name within it; it never changes again.
    feed_id = f"tag:{host if _HOST.fullmatch(host) else 'localhost'},{day.isoformat()}:open/{public_id}"
    row = OpenQuestionRow(
        public_id=public_id,
        group_id=group_id,
        pair_set_id=pair_set_id,
        title=title,
        zone=zone,
        seed=seed,
        sites=list(origins),
        feed_id=feed_id,
    )
    row.first_day, row.made_at = day, at
    db.add(row)


def change_question(db: Session, group_id: int, public_id: str, *, title: str, sites: str) -> None:
    """Give a question another title and other sites that may frame its answers."""
    row = _of_group(db, group_id, public_id)
    row.title, row.sites = _title(title), list(read_sites(sites))


def end_question(db: Session, group_id: int, public_id: str, *, at: datetime) -> None:
    """Ask a question no more; ending it twice changes nothing."""
    row = _of_group(db, group_id, public_id)
    row.ended_at = row.ended_at or at


def list_questions(db: Session, group_id: int, *, at: datetime) -> tuple[OpenQuestion, ...]:
    """Return a group's questions, the latest first."""
    return tuple(_told(*found, at=at) for found in reading.questions_of_group(db, group_id))


def the_question_of(db: Session, group_id: int, public_id: str, *, at: datetime) -> OpenQuestion:
    """Return a question of a group, running or not, or raise NotFound."""
    _of_group(db, group_id, public_id)
    found = reading.find_question(db, public_id)
    return _told(*found, at=at) if found else _not_there()


def the_question(db: Session, public_id: str, *, at: datetime) -> OpenQuestion:
    """Return a question that runs, or raise NotFound, saying where it has ended."""
    found = reading.find_question(db, public_id)
    if found is None:
        return _not_there()
    question = _told(*found, at=at)
    if not question.is_running:
        raise NotFound(say("This question has ended. Thank you for looking in."))
    return question


def read_sites(typed: str) -> tuple[str, ...]:
    """Return the origins that were typed, one a line, as a browser writes them; raise Invalid at one that is none.

    Source: RFC 6454 section 6.2 (an origin is scheme, host and port, nothing more); CSP level 3, `frame-ancestors`, whose
    sources are parted by spaces and closed by a semicolon, neither of which gets through here.
    """
    lines = list(dict.fromkeys(line.strip() for line in typed.splitlines() if line.strip()))
    if len(lines) > MOST_SITES:
        raise Invalid(say("Name {most_sites} sites at most.", most_sites=MOST_SITES), field="sites")
    return tuple(_origin(line) for line in lines)


def _origin(line: str) -> str:
    wrong = Invalid(
        say("“{line}” is no site's address. Write it like https://club.example, without a path.", line=line[:80]), field="sites"
    )
    try:
        parts = urlsplit(line)
        port, host = parts.port, ascii_domain(parts.hostname or "") or ""
    except ValueError:
        raise wrong from None
    bare = parts.path in {"", "/"} and not parts.query and not parts.fragment and parts.username is None and not set(line) & set("?#")
    if parts.scheme not in {"https", "http"} or not bare or not _HOST.fullmatch(host):
        raise wrong
    usual = {"https": 443, "http": 80}[parts.scheme]
    return f"{parts.scheme}://{host}" + (f":{port}" if port not in {None, usual} else "")


def _title(typed: str) -> str:
    title = " ".join(typed.split())
    if not title:
        raise Invalid(say("Give the question a title, such as the name of your club."), field="title")
    if len(title) > LONGEST_TITLE:
        raise Invalid(say("The title has {longest_title} letters at most.", longest_title=LONGEST_TITLE), field="title")
    return title


def _told(row: OpenQuestionRow, group: GroupRow, pair_set: PairSetRow, *, at: datetime) -> OpenQuestion:
    return OpenQuestion(
        id=row.id,
        public_id=row.public_id,
        title=row.title,
        zone=row.zone,
        sites=tuple(row.sites),
        feed_id=row.feed_id,
        first_day=row.first_day,
        today=at.astimezone(ZoneInfo(row.zone)).date(),
        group=group.title,
        set=pair_set.title,
        set_id=pair_set.id,
        is_paid=group.is_paid,
        ended_at=row.ended_at,
        is_running=row.ended_at is None and group.retired_at is None and pair_set.retired_at is None,
    )


def _of_group(db: Session, group_id: int, public_id: str) -> OpenQuestionRow:
    found = reading.find_question(db, public_id)
    if found is None or found[1].id != group_id:
        return _not_there()
    return found[0]


def _not_there() -> NoReturn:
    raise NotFound(say("There is no such question here."))
