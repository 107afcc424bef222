"""The season of a group, over the weeks of a year: lessons, holidays, and what is here when, in the leader's own words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.weeks import Week, same_week, weeks_of
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.practice.assigning import Wanted, assign, list_assignments
from drillhall.practice.outings import GroupOuting, list_outings
from drillhall.store.models.catalogue import PairSetRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.models.seasons import AssignmentRow, SeasonEntryRow
from drillhall.words import Said, say

LESSON: Final = "lesson"
HOLIDAY: Final = "holiday"
HERE: Final = "here"
KINDS: Final = {LESSON: say("Lesson"), HOLIDAY: say("Holiday"), HERE: say("Here then")}
"""What weeks may hold, in words."""
LONGEST_WORDS: Final = 200
MOST_ENTRIES: Final = 300
"""In all years together, as many as nobody plans by hand."""


@dataclass(frozen=True, slots=True)
class EntrySaid:
    """What a leader says of some weeks: for a lesson what the group has been given, or a pair set to give it from then on, or words."""

    kind: str
    first: Week
    last: Week
    words: str = ""
    assignment_id: int | None = None
    pair_set_id: int | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """Some weeks as the group sees them; `set_title` is the pair set of a lesson, or empty."""

    id: int
    kind: str
    first: Week
    last: Week
    words: str
    assignment_id: int | None
    pair_set_id: int | None
    set_title: str
    changes: int
    changed_at: datetime

    @property
    def says(self) -> str:
        """What these weeks hold, in words."""
        return f"{self.set_title}: {self.words}" if self.set_title and self.words else self.set_title or self.words

    @property
    def when(self) -> Said:
        """Its weeks in words."""
        if self.first == self.last:
            return say("week {number} of {year}", number=self.first.number, year=self.first.year)
        if self.first.year == self.last.year:
            return say("weeks {first} to {last} of {year}", first=self.first.number, last=self.last.number, year=self.first.year)
        first = say("week {number} of {year}", number=self.first.number, year=self.first.year)
        last = say("week {number} of {year}", number=self.last.number, year=self.last.year)
        return say("{first} to {last}", first=first, last=last)


@dataclass(frozen=True, slots=True)
class Span:
    """Weeks in a row that hold the same, or nothing; a week with an outing stands by itself."""

    first: Week
    last: Week
    lessons: tuple[Entry, ...] = ()
    holidays: tuple[Entry, ...] = ()
    here: tuple[Entry, ...] = ()
    outings: tuple[GroupOuting, ...] = ()

    @property
    def is_bare(self) -> bool:
        """Whether nothing is planned then."""
        return not (self.lessons or self.holidays or self.here or self.outings)

    def goes_on(self, after: Span) -> bool:
        """Whether the weeks after these hold the same."""
        mine, others = (self.lessons, self.holidays, self.here), (after.lessons, after.holidays, after.here)
        return mine == others and not (self.outings or after.outings)


@dataclass(frozen=True, slots=True)
class Season:
    """A year of a group, week by week; `before` is how many entries the year before has."""

    year: int
    spans: tuple[Span, ...]
    before: int

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all is planned."""
        return all(span.is_bare for span in self.spans)


def list_entries(db: Session, group_id: int) -> tuple[Entry, ...]:
    """Return what a group's weeks hold, of all years, by first week."""
    query = (
        select(SeasonEntryRow, PairSetRow.id, PairSetRow.title)
        .outerjoin(AssignmentRow, AssignmentRow.id == SeasonEntryRow.assignment_id)
        .outerjoin(PairSetRow, PairSetRow.id == AssignmentRow.pair_set_id)
        .where(SeasonEntryRow.group_id == group_id, SeasonEntryRow.retired_at.is_(None))
        .order_by(SeasonEntryRow.first_day, SeasonEntryRow.id)
    )
    return tuple(_told(row, set_id, title or "") for row, set_id, title in db.execute(query))


def the_entry(db: Session, group_id: int, entry_id: int) -> Entry:
    """Return an entry of a group, or raise NotFound."""
    for one in list_entries(db, group_id):
        if one.id == entry_id:
            return one
    raise NotFound(say("There is no such thing in this group's season."))


class _WeeksTaken(Invalid):
    """Another lesson lies in these weeks."""


def the_season(db: Session, group_id: int, year: int) -> Season:
    """Return a year of a group."""
    entries, outings = list_entries(db, group_id), list_outings(db, group_id)
    spans: list[Span] = []
    for week in weeks_of(year):
        span = _span(week, entries, outings)
        if spans and spans[-1].goes_on(span):
            spans[-1] = replace(spans[-1], last=week)
        else:
            spans.append(span)
    return Season(year, tuple(spans), sum(one.first.year == year - 1 for one in entries))


def plan_entry(db: Session, group_id: int, said: EntrySaid, *, by: int, today: date, at: datetime) -> int:
    """Put something into a group's season and return its id; a lesson with a pair set gives the group that set from its Monday on.

    Raises Invalid for weeks the wrong way round, for words that are missing or too long, and for two lessons in one week, naming both;
    NotFound and Conflict as `assign` does.
    """
    words = _checked(said)
    _lock(db, group_id)
    entries = list_entries(db, group_id)
    if len(entries) >= MOST_ENTRIES:
        raise Conflict(
            say("The plan holds {most_entries} entries, which is all it can. Take old ones out first.", most_entries=MOST_ENTRIES)
        )
    _refuse_overlap(entries, said, _name_of(db, group_id, said))
    assignment_id = said.assignment_id
    if said.pair_set_id is not None:
        assignment_id = assign(db, group_id, Wanted(said.pair_set_id, said.first.first_day), by=by, today=today, at=at)
    row = SeasonEntryRow(group_id=group_id, assignment_id=assignment_id, kind=said.kind, words=words, made_by=by, made_at=at, changed_at=at)
    row.first_day, row.last_day = said.first.first_day, said.last.last_day
    db.add(row)
    db.flush()
    return row.id


def change_entry(db: Session, group_id: int, entry_id: int, *, first: Week, last: Week, words: str, at: datetime) -> None:
    """Move an entry to other weeks and give it other words; what it is and its pair set stay."""
    _lock(db, group_id)
    known = the_entry(db, group_id, entry_id)
    said = EntrySaid(known.kind, first, last, words, assignment_id=known.assignment_id)
    kept = _checked(said)
    others = [one for one in list_entries(db, group_id) if one.id != entry_id]
    _refuse_overlap(others, said, known.set_title or kept)
    row = db.get_one(SeasonEntryRow, entry_id)
    row.first_day, row.last_day, row.words = first.first_day, last.last_day, kept
    row.changes, row.changed_at = row.changes + 1, at


def take_out(db: Session, group_id: int, entry_id: int, *, at: datetime) -> None:
    """Take an entry out of a season; what the group was given by it stays given."""
    the_entry(db, group_id, entry_id)
    row = db.get_one(SeasonEntryRow, entry_id)
    row.retired_at, row.changes, row.changed_at = at, row.changes + 1, at


def repeat_year(db: Session, group_id: int, year: int, *, by: int, today: date, at: datetime) -> tuple[int, int]:
    """Put the entries of the year before into the same weeks of a year; return how many, and how many found their weeks taken.

    What is there already, in the same words, is not put there twice. A pair set that cannot be given, any more or so far ahead, leaves
    its title. Outings are not repeated: tides and dates differ.
    """
    before = [one for one in list_entries(db, group_id) if one.first.year == year - 1]
    made = taken = 0
    for one in before:
        moved = _moved(db, group_id, one, year)
        if any((known.kind, known.first, known.says) == (one.kind, moved.first, one.says) for known in list_entries(db, group_id)):
            continue
        try:
            _plan_again(db, group_id, moved, one, by=by, today=today, at=at)
            made += 1
        except _WeeksTaken:
            taken += 1
    return made, taken


def _plan_again(db: Session, group_id: int, moved: EntrySaid, one: Entry, *, by: int, today: date, at: datetime) -> None:
    try:
        plan_entry(db, group_id, moved, by=by, today=today, at=at)
    except _WeeksTaken:
        raise
    except (NotFound, Conflict, Invalid):
        bare = EntrySaid(moved.kind, moved.first, moved.last, one.says[:LONGEST_WORDS])
        plan_entry(db, group_id, bare, by=by, today=today, at=at)


def _moved(db: Session, group_id: int, one: Entry, year: int) -> EntrySaid:
    first, last = same_week(one.first, year), same_week(one.last, year + one.last.year - one.first.year)
    running = {given.pair_set_id: given.id for given in list_assignments(db, group_id)}
    given = running.get(one.pair_set_id) if one.pair_set_id is not None else None
    return EntrySaid(one.kind, first, last, one.words, given, one.pair_set_id if given is None else None)


def _span(week: Week, entries: Sequence[Entry], outings: Sequence[GroupOuting]) -> Span:
    now = [one for one in entries if one.first <= week <= one.last]
    lessons, holidays, here = (tuple(one for one in now if one.kind == kind) for kind in (LESSON, HOLIDAY, HERE))
    return Span(week, week, lessons, holidays, here, tuple(one for one in outings if Week.of(one.day) == week))


def _checked(said: EntrySaid) -> str:
    words = " ".join(said.words.split())
    if said.kind not in KINDS:
        raise Invalid(say("Say whether it is a lesson, a holiday, or what is here then."), field="kind")
    if said.last < said.first:
        raise Invalid(say("The last week comes before the first. Put it after, or leave it empty for one week."), field="last_week")
    if (said.last.first_day - said.first.first_day).days > 53 * 7:
        raise Invalid(say("That is more than a year. Put in each year by itself."), field="last_week")
    if said.kind != LESSON and (said.assignment_id is not None or said.pair_set_id is not None):
        raise Invalid(say("Only a lesson has a pair set. Choose none."), field="purpose")
    if not words and said.assignment_id is None and said.pair_set_id is None:
        raise Invalid(say("Say in your own words what these weeks hold."), field="words")
    if len(words) > LONGEST_WORDS:
        raise Invalid(say("{longest_words} letters at most.", longest_words=LONGEST_WORDS), field="words")
    return words


def _refuse_overlap(entries: Iterable[Entry], said: EntrySaid, name: str) -> None:
    if said.kind != LESSON:
        return
    for one in entries:
        if one.kind == LESSON and one.first <= said.last and said.first <= one.last:
            raise _WeeksTaken(
                say(
                    "“{name}” would lie over “{says}”, {when}. Choose other weeks, or move that one.",
                    name=name,
                    says=one.says,
                    when=one.when,
                ),
                field="first_week",
            )


def _name_of(db: Session, group_id: int, said: EntrySaid) -> str:
    pair_set_id = said.pair_set_id
    if said.assignment_id is not None:
        given = db.get(AssignmentRow, said.assignment_id)
        if given is None or given.group_id != group_id:
            raise NotFound(say("There is no such assignment of this group."))
        pair_set_id = given.pair_set_id
    if pair_set_id is None:
        return said.words
    title = db.scalar(select(PairSetRow.title).where(PairSetRow.id == pair_set_id))
    if title is None:
        raise NotFound(say("There is no such pair set on the shelf."))
    return title


def _lock(db: Session, group_id: int) -> None:
    """Let one change of a season happen at a time, else two lessons could slip into one week."""
    db.execute(select(GroupRow.id).where(GroupRow.id == group_id).with_for_update())


def _told(row: SeasonEntryRow, set_id: int | None, title: str) -> Entry:
    first, last = Week.of(row.first_day), Week.of(row.last_day)
    return Entry(row.id, row.kind, first, last, row.words, row.assignment_id, set_id, title, row.changes, row.changed_at)
