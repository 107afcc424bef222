"""What is kept about somebody, in words: what it is, who is shown it, how long it is kept, and which tables hold it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people import audit, retention
from drillhall.people.retention import Retention
from drillhall.store.models.people import AccountRow, AuditRow
from drillhall.store.queries.about import count_about, names_her
from drillhall.words import Said, say

AS_LONG_AS_YOU: Final = say("as long as you are here")
UNTIL_YOU: Final = say("until you take it back")
YOU_ALONE: Final = say("you alone")
MOST_ACTS: Final = 50


@dataclass(frozen=True, slots=True)
class Subject:
    """One thing that is kept: its title, its name in a list, what it is, whom it is shown to, for how long, and the tables that hold it.

    `how_long` may name a span of the hall's own setting in braces. `after` says what becomes of it when she is erased.
    """

    title: Said
    name: Said
    what: Said
    shown_to: Said
    how_long: Said
    after: Said
    tables: tuple[str, ...]


GOES: Final = say("gone at once")
STAYS_NAMELESS: Final = say("stays, and names nobody")

SUBJECTS: Final[tuple[Subject, ...]] = (
    Subject(
        say("Your account"),
        say("the account"),
        say("The name you sign in with, a hash of your passphrase, where your days begin, and how you want your drills. No birthday."),
        say("people in your groups and stewards see the name; the keeper sees the name and whether the account is in use"),
        say("as long as you are here; once closed, {closed_accounts}"),
        GOES,
        ("account",),
    ),
    Subject(
        say("Where you are signed in"),
        say("sign-ins"),
        say(
            "A hash for each device, since when, and when it was last in use. No address of the device. "
            "Whether you still have a passphrase that was given to you."
        ),
        YOU_ALONE,
        say("until it is over, and {sign_ins} after"),
        GOES,
        ("sign_in", "one_time_link", "given_passphrase"),
    ),
    Subject(
        say("Your second step at sign-in"),
        say("the second step"),
        say("Only if you set one up: since when, and hashes of the spare codes with when each was used. The secret itself is not kept."),
        YOU_ALONE,
        UNTIL_YOU,
        GOES,
        ("second_step", "spare_code"),
    ),
    Subject(
        say("Your passkeys"),
        say("passkeys"),
        say("Only if you made one: the name you gave it, its public half, since when, and when it was last in use."),
        YOU_ALONE,
        UNTIL_YOU,
        GOES,
        ("passkey",),
    ),
    Subject(
        say("Your e-mail address"),
        say("the e-mail address"),
        say("Only if you gave one: the address, whether it is confirmed, reminders, and daily questions that go to it."),
        say("you alone; whoever runs the mail server"),
        say("until you take it back; two days if you do not confirm it"),
        GOES,
        ("address", "subscription"),
    ),
    Subject(
        say("Letters to you"),
        say("letters"),
        say("What waits to be sent. Once it is sent, only its kind and when."),
        YOU_ALONE,
        say("{letters} after it is sent"),
        GOES,
        ("letter",),
    ),
    Subject(
        say("Your answers"),
        say("answers"),
        say("Each drill with its pictures, what you said, how sure you were, how long it took, and when."),
        say("you; of what a group is given, sums and what you mix up, as the group's page says; nobody sees the answers themselves"),
        AS_LONG_AS_YOU,
        GOES,
        ("drill", "round", "showing", "answer", "rarity_drill", "rarity_showing", "word_drill", "description"),
    ),
    Subject(
        say("What follows from your answers"),
        say("what follows from them"),
        say("Counts by pair, when each pair is due, which pictures you have seen, trials, and numbers of your own."),
        say("you; the counts as above"),
        AS_LONG_AS_YOU,
        GOES,
        (
            *("memory", "tally", "tally_year", "prompt_tally", "beside_tally", "sight"),
            *("parameter_set", "fitting", "concept_join_notice", "taken_set"),
        ),
    ),
    Subject(
        say("Field tests you sat"),
        say("sittings of field tests"),
        say("When, what you were asked and said, and whether you have more time."),
        say("you; your teacher; a leader in sum, and by name only if you let her"),
        AS_LONG_AS_YOU,
        GOES,
        ("sitting", "sitting_item", "field_test_extra"),
    ),
    Subject(
        say("Your groups"),
        say("memberships of groups"),
        say(
            "Which you are or were in, as what, from when until when, whether a leader may see you by name, and links to their calendars. "
            "In a class with a list: your name on it, and the school's own code for you."
        ),
        say("people in the group, while you are in it; your place on a list: its teachers"),
        AS_LONG_AS_YOU,
        GOES,
        ("membership", "calendar_link", "roster_place", "roster_draft"),
    ),
    Subject(
        say("Your pictures"),
        say("pictures"),
        say(
            "Files, the file as it came where you keep it, what they show, rights and credit, whom you share them with, and marks. "
            "The zip of a catalogue waits a day at most until you import it."
        ),
        say("whom their rights and your sharing allow; the file as it came: you alone"),
        say("until you take it back, or are erased"),
        say("gone at once; those in a catalogue under an open licence as is chosen then"),
        ("picture", "rights", "file", "mark", "picture_share", "picture_offer", "catalogue_picture", "label_change"),
    ),
    Subject(
        say("What you did for others"),
        say("what was done for others"),
        say("Lessons, outings, weeks and tests you set, invitations you made, catalogues you write and what you changed in them."),
        say("people in the group, or stewards of the catalogue"),
        say("as long as the group or catalogue"),
        say("stays, and names nobody; invitations go, and a catalogue with no other steward goes to the keeper's care"),
        (
            "assignment",
            "outing",
            "season_entry",
            "field_test",
            "invitation",
            "steward",
            "catalogue_change",
            "pictures_apart",
            "concept_join",
        ),
    ),
    Subject(
        say("The log of acts"),
        say("lines in the log of acts"),
        say("When you signed in and out, what you did with others' things, and what others did with yours."),
        say("you, as far as it is about you; the keeper"),
        say("{audit}"),
        STAYS_NAMELESS,
        ("audit",),
    ),
)
"""Everything that is kept about a person. A test holds it against the tables: none is left out, and none is named twice."""

OF_NOBODY: Final = (
    say("Sums over everybody (how often a pair is mixed up in this hall) name nobody, and so do answers to open questions."),
    say(
        "What the hall would not let somebody do is written down under a mark, by which its keeper can find whose tries they were until "
        "another passphrase is taken. Once the account is erased, nobody can."
    ),
    say("Faults of the program are written down without names. Tries to sign in are counted under a hash for two days."),
    say("A backup holds what the hall held on its day, until whoever keeps the hall lets that backup go."),
)

READ_ME: Final = (
    "This is everything that the hall keeps about one person.\n\n"
    "data/        one table each, as JSON and as CSV; about.json says what each is\n"
    "looked-up/   what the numbers in them mean: pairs, forms, names, catalogues, groups\n"
    "pictures/    her pictures as an archive of Darwin Core and Audiovisual Core, with credits.txt\n\n"
    "Left out are hashes of passphrases and links. Files as they came may tell where a picture was taken: mind whom you give them to.\n"
    "A cell that a spreadsheet would take for a formula begins with an apostrophe; the JSON has it as it is.\n"
)


@dataclass(frozen=True, slots=True)
class KeptSubject:
    """A subject as a page tells it: the words, and how many things of the kind there are."""

    title: str
    what: str
    shown_to: str
    how_long: str
    after: str
    count: int


@dataclass(frozen=True, slots=True)
class Act:
    """Something that somebody else did with a person's things; `by` is empty where it is not known any more."""

    at: datetime
    act: str
    by: str


@dataclass(frozen=True, slots=True)
class Kept:
    """All that is kept about somebody, and what others did with it, the latest first."""

    account_id: int
    name: str
    subjects: tuple[KeptSubject, ...]
    acts: tuple[Act, ...]


def what_is_kept(db: Session, account_id: int) -> Kept:
    """Return what is kept about somebody, or raise NotFound."""
    row = db.get(AccountRow, account_id)
    if row is None:
        raise NotFound(say("There is no such account."))
    counts, spans = count_about(db, account_id), retention.the_retention(db)
    return Kept(account_id, row.name, tuple(_told(one, counts, spans) for one in SUBJECTS), _acts(db, account_id))


def _told(one: Subject, counts: Mapping[str, int], spans: Retention) -> KeptSubject:
    how_long = one.how_long.filled(**spans.in_words())
    return KeptSubject(one.title, one.what, one.shown_to, how_long, one.after, sum(counts[table] for table in one.tables))


def _acts(db: Session, account_id: int) -> tuple[Act, ...]:
    query = (
        select(AuditRow.at, AuditRow.act, AccountRow.name)
        .outerjoin(AccountRow, AccountRow.id == AuditRow.account_id)
        .where(names_her(account_id), AuditRow.account_id.is_distinct_from(account_id))
        .order_by(AuditRow.id.desc())
        .limit(MOST_ACTS)
    )
    return tuple(Act(at, audit.in_words(act), name or "") for at, act, name in db.execute(query))
