"""What a sitter sees: the tests that are for her, one question at a time, what she has said so far, and her results once released."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from drillhall.core.values import Form, Pair
from drillhall.errors import NotFound
from drillhall.practice.cautioning import banners_of
from drillhall.practice.field_tests.sitting import Running, is_over, may_pause, the_running
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.packets import PictureView, Size
from drillhall.practice.reader import names_for
from drillhall.practice.views import picture_views
from drillhall.store.models.field_tests import FieldTestRow, SittingRow
from drillhall.store.models.groups import GroupRow
from drillhall.store.queries import field_tests as reading
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class TestForHer:
    """A test as one of the group sees it, and where she is with it: `running_id` her open sitting, `sat` how many are over.

    `minutes` is the time that she has, None for no limit; `state` is "to come", "open" or "shut".
    """

    __test__ = False

    id: int
    title: str
    group: str
    group_key: str
    questions: int
    minutes: int | None
    opens_at: datetime
    until: datetime
    repeats: bool
    may_pause: bool
    state: str
    running_id: str | None
    sat: int
    is_released: bool

    @property
    def may_begin(self) -> bool:
        """Whether she may begin a sitting now."""
        return self.state == "open" and self.running_id is None and (self.repeats or not self.sat)


@dataclass(frozen=True, slots=True)
class SittingState:
    """Where somebody is in a sitting: `minutes_left` None where there is no clock; `dropped` questions count for nobody."""

    id: str
    test_id: int
    title: str
    questions: int
    answered: int
    dropped: int
    is_over: bool
    is_handed: bool
    is_paused: bool
    may_pause: bool
    due_at: datetime
    minutes_left: int | None
    place_now: int | None
    has_unseen: bool


@dataclass(frozen=True, slots=True)
class AskedNow:
    """One question before a sitter, without its key: the pair, its picture, what she has said so far (0 for nothing)."""

    sitting: SittingState
    place: int
    number: int
    before: int | None
    pair: Pair
    picture: PictureView
    said: int
    banners: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SaidLine:
    """One line of what has been said so far; `said` None: left open, `is_seen` False: not reached."""

    place: int
    number: int
    pair: Pair
    said: Form | None
    is_seen: bool


def list_for_her(db: Session, account_id: int, *, at: datetime) -> tuple[TestForHer, ...]:
    """Return the tests of the groups that somebody is in: those open first, then those to come, then the others."""
    found = reading.tests_for(db, account_id)
    sittings = reading.sittings_of(db, account_id, [test.id for test, _, _ in found])
    counts = reading.count_questions(db, [test.id for test, _, _ in found])
    hers = [
        _for_her(test, group, [one for one in sittings if one.field_test_id == test.id], counts.get(test.id, 0), test.minutes, at)
        for test, group, _ in found
    ]
    return tuple(sorted(hers, key=lambda one: ("open", "to come", "shut").index(one.state)))


def list_awaiting_her(db: Session, account_id: int, *, at: datetime) -> tuple[TestForHer, ...]:
    """Return the tests that somebody is sitting, and those that are open and that she has not sat yet."""
    return tuple(one for one in list_for_her(db, account_id, at=at) if one.running_id or (one.may_begin and not one.sat))


def the_test_for_her(db: Session, account_id: int, test_id: int, *, at: datetime) -> TestForHer:
    """Return one test as somebody of the group sees it, with the time that she has, or raise NotFound."""
    found = reading.find_test_for(db, account_id, test_id)
    if found is None:
        raise NotFound(say("There is no such test, or it is not for you."))
    test, group, _ = found
    percent = reading.extras(db, test_id).get(account_id, 0)
    minutes = None if test.minutes is None or percent is None else test.minutes * (100 + percent) // 100
    sittings = list(reading.sittings_of(db, account_id, [test_id]))
    return _for_her(test, group, sittings, reading.count_questions(db, [test_id]).get(test_id, 0), minutes, at)


def the_state(db: Session, account_id: int, sitting_id: str, *, at: datetime) -> SittingState:
    """Return where somebody is in a sitting, or raise NotFound."""
    return _state(the_running(db, account_id, sitting_id, at=at), at)


def the_question(db: Session, account_id: int, sitting_id: str, place: int, *, at: datetime) -> AskedNow | None:
    """Return a question that a sitter has come to, or None where it is not to be shown now: over, stopped, withdrawn, not reached."""
    running = the_running(db, account_id, sitting_id, at=at)
    state = _state(running, at)
    item = running.items.get(place)
    if state.is_over or state.is_paused or item is None or item.seen_at is None:
        return None
    picture = _picture(db, running, place, at)
    if picture is None:
        return None
    places = list(running.items)
    number = places.index(place)
    return AskedNow(
        sitting=state,
        place=place,
        number=number + 1,
        before=places[number - 1] if number else None,
        pair=_pairs(db, running)[running.question(place).pair_id],
        picture=picture,
        said=item.said_form_id or 0,
        banners=banners_of(db, [running.test.catalogue_id]),
    )


def the_said(db: Session, account_id: int, sitting_id: str, *, at: datetime) -> tuple[SittingState, tuple[SaidLine, ...]]:
    """Return where a sitter is and what she has said so far, in her order, to be looked over before it is handed in."""
    running = the_running(db, account_id, sitting_id, at=at)
    pairs = _pairs(db, running)
    lines = []
    for number, (place, item) in enumerate(running.items.items(), 1):
        pair = pairs[running.question(place).pair_id]
        said = pair.form(item.said_form_id) if item.said_form_id is not None else None
        lines.append(SaidLine(place, number, pair, said, item.seen_at is not None))
    return _state(running, at), tuple(lines)


def the_picture_shown(db: Session, account_id: int, sitting_id: str, place: int, width_px: int, *, at: datetime) -> tuple[str, Size]:
    """Return the name and size of the picture that a sitter has before her; raise NotFound for any other, and at any other time."""
    asked = the_question(db, account_id, sitting_id, place, at=at)
    if asked is not None:
        for size in asked.picture.sizes:
            if size.width_px == width_px:
                return asked.picture.public_id, size
    raise NotFound(say("There is no such picture, or it is not yours to see."))


def _for_her(
    test: FieldTestRow, group: GroupRow, sittings: list[SittingRow], questions: int, minutes: int | None, at: datetime
) -> TestForHer:
    running = next((one for one in sittings if not is_over(one, test, at)), None)
    return TestForHer(
        id=test.id,
        title=test.title,
        group=group.title,
        group_key=group.public_id,
        questions=questions,
        minutes=minutes,
        opens_at=test.opens_at,
        until=test.until,
        repeats=test.repeats,
        may_pause=test.may_pause,
        state="to come" if at < test.opens_at else "open" if at < test.until else "shut",
        running_id=running.id if running else None,
        sat=sum(is_over(one, test, at) for one in sittings),
        is_released=test.released_at is not None,
    )


def _state(running: Running, at: datetime) -> SittingState:
    row, test = running.row, running.test
    has_clock = row.due_at != test.until
    left = row.due_at - (row.paused_at or at)
    return SittingState(
        id=row.id,
        test_id=test.id,
        title=test.title,
        questions=len(running.items),
        answered=sum(item.said_form_id is not None for item in running.items.values()),
        dropped=len(running.questions) - len(running.items),
        is_over=is_over(row, test, at),
        is_handed=row.handed_at is not None,
        is_paused=row.paused_at is not None,
        may_pause=may_pause(test, row),
        due_at=row.due_at,
        minutes_left=max(0, int(left.total_seconds() // 60)) if has_clock else None,
        place_now=running.place_now,
        has_unseen=bool(running.unseen),
    )


def _pairs(db: Session, running: Running) -> Mapping[int, Pair]:
    lores = lore_of_pairs(
        db,
        running.test.catalogue_id,
        {one.pair_id for one in running.questions.values()},
        reader=names_for(db, running.row.account_id),
    )
    return {pair_id: lore.pair for pair_id, lore in lores.items()}


def _picture(db: Session, running: Running, place: int, at: datetime) -> PictureView | None:
    picture_id = running.question(place).picture_id
    views = picture_views(db, [picture_id], catalogue_id=running.test.catalogue_id, viewer_id=None, on=at.date())
    return views.get(picture_id)
