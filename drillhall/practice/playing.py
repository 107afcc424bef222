"""Gives a stored drill back, whole and ready to show: pictures, questions, keys and explanations."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from types import MappingProxyType

from sqlalchemy.orm import Session

from drillhall.core.joining import StandsFor
from drillhall.core.kinds import beside as beside_kind
from drillhall.core.kinds import form as form_kind
from drillhall.core.rounds.extras import survivors
from drillhall.core.values import NEITHER, Ask, Form, PairLore, Rendition, Sure, Why
from drillhall.errors import NotFound
from drillhall.practice.asks import ask_of
from drillhall.practice.assigned import says_of_pairs
from drillhall.practice.cautioning import banners_of
from drillhall.practice.days import local_day
from drillhall.practice.explaining import KnownPair, Portraits, explained, hint_for, list_meetings, the_portraits
from drillhall.practice.left import left_to_show
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.packets import Choice, Given, Meeting, Packet, PictureView, Question, RoundView, ShowingView
from drillhall.practice.reader import reader_of
from drillhall.practice.side_by_side import two_question
from drillhall.practice.views import views_in_renditions
from drillhall.store.models.people import AccountRow
from drillhall.store.models.practice import AnswerRow, RoundRow, ShowingRow
from drillhall.store.queries import learner as reading
from drillhall.store.queries import log
from drillhall.store.queries.batch import Learner
from drillhall.words import Said, joined, say, within

WHY_WORDS: Mapping[Why, Said] = {
    Why.NEW: say("New today: you meet them first"),
    Why.WEAK: say("You keep mixing these up"),
    Why.DUE: say("You would soon forget these"),
    Why.OUTING: say("Asked for on an outing ahead"),
    Why.EARLY: say("Not due yet; there is time left"),
    Why.AGAIN: say("A second turn today"),
}


Views = Mapping[tuple[int, Rendition], PictureView]
"""Pictures as they are shown, by id and rendition."""


def the_packet(db: Session, account_id: int, drill_id: str, *, now: datetime) -> Packet:
    """Return a learner's drill, whole; raises NotFound where it is none of hers.

    A round with a picture that has been withdrawn since and not been answered yet is left out, not marked wrong.
    """
    return _packet(db, account_id, drill_id, now=now)[0]


def packet_to_keep(db: Session, account_id: int, drill_id: str, *, now: datetime) -> tuple[Packet, dict[int, Meeting]]:
    """Return a learner's drill with the meetings that it begins its new pairs with, by pair: all that a device keeps.

    Raises NotFound as `the_packet` does, and where one of these pairs is in no set of hers any more.
    """
    packet, lores = _packet(db, account_id, drill_id, now=now)
    return packet, list_meetings(db, account_id, {view.pair.id for view in packet.rounds if view.meet}, now=now, known=lores)


def _packet(db: Session, account_id: int, drill_id: str, *, now: datetime) -> tuple[Packet, dict[int, KnownPair]]:
    drill = log.the_drill(db, account_id, drill_id)
    if drill is None:
        raise NotFound(say("There is no such drill. Start today's drill from the first page."))
    account = db.get_one(AccountRow, account_id)
    today = local_day(account, now)
    rounds = log.rounds_of(db, drill_id)
    showings = log.showings_of(db, drill_id)
    answers = log.answers_of(db, drill_id)
    given = _given(answers)
    gone = reading.withdrawn(db, account_id, [showing.id for showing in showings], on=today)
    no_more = frozenset[int]().union(*gone.values())
    lores = _lores(db, account, rounds, {showing.form_id for showing in showings}, now=now)
    views = _views(db, account, rounds, showings, on=today)
    by_round: dict[int, list[ShowingRow]] = defaultdict(list)
    for showing in showings:
        by_round[showing.round_id].append(showing)
    played = [logged for logged in rounds if not any(s.id in gone and s.id not in given for s in by_round[logged.id])]
    left = left_to_show(played, showings, answers)
    set_by = says_of_pairs(db, account, lores, today=today)
    rounds_shown = (
        _round(logged, by_round[logged.id], lores[logged.pair_id], views, given, left, set_by.get(logged.pair_id)) for logged in played
    )
    packet = Packet(
        drill_id=drill.id,
        planned_at=drill.planned_at,
        until=drill.until,
        minutes=drill.minutes,
        # A round of which every picture's files are gone has nothing left to show.
        rounds=tuple(round_view for round_view in rounds_shown if round_view.showings),
        withdrawn=tuple(sorted({view.public_id for (picture_id, _), view in views.items() if picture_id in no_more})),
        seconds_a_showing=drill.showing_ms / 1000,
        single_keys=account.single_keys,
        letter_keys=account.letter_keys,
        banners=banners_of(db, {logged.catalogue_id for logged in rounds}),
    )
    return packet, lores


def list_withdrawn(db: Session, learner: Learner, *, now: datetime) -> tuple[str, ...]:
    """Return the pictures of the learner's open drill that she may no longer be shown: a device deletes them."""
    return tuple(reading.withdrawn_of_open_drill(db, learner.id, now=now, on=local_day(learner, now)))


def find_open_drill(db: Session, account_id: int, *, now: datetime) -> str | None:
    """Return the id of the learner's open drill, or None."""
    row = log.open_drill(db, account_id, now=now)
    return row.id if row is not None else None


def find_latest_drill(db: Session, account_id: int) -> str | None:
    """Return the id of the drill that the learner planned last, ended or not, or None."""
    return log.latest_drill(db, account_id)


def _given(answers: Sequence[AnswerRow]) -> dict[int, dict[int, Given]]:
    """Return what counts of the answers by showing and question: the one given first."""
    found: dict[int, dict[int, Given]] = defaultdict(dict)
    for row in answers:
        found[row.showing_id].setdefault(row.ask, Given(row.said, Sure(row.sure) if row.sure else None))
    return dict(found)


def _lores(db: Session, account: AccountRow, rounds: Sequence[RoundRow], shown: set[int], *, now: datetime) -> dict[int, KnownPair]:
    by_catalogue: dict[int, set[int]] = defaultdict(set)
    for logged in rounds:
        by_catalogue[logged.catalogue_id].add(logged.pair_id)
    found: dict[int, KnownPair] = {}
    for catalogue_id, pair_ids in by_catalogue.items():
        lores = lore_of_pairs(db, catalogue_id, pair_ids, as_shown=shown, reader=reader_of(account))
        every = {form_id for lore in lores.values() for form_id in lore.forms}
        portraits = the_portraits(db, account.id, catalogue_id, every, on=local_day(account, now))
        found.update({pair_id: KnownPair(lore, portraits, catalogue_id) for pair_id, lore in lores.items()})
    return found


def _views(db: Session, account: AccountRow, rounds: Sequence[RoundRow], showings: Sequence[ShowingRow], *, on: date) -> Views:
    catalogue_of = {logged.id: logged.catalogue_id for logged in rounds}
    wanted: dict[int, set[tuple[int, Rendition]]] = defaultdict(set)
    for showing in showings:
        wanted[catalogue_of[showing.round_id]].update(_shown(showing))
    found: dict[tuple[int, Rendition], PictureView] = {}
    for catalogue_id, here in wanted.items():
        found.update(views_in_renditions(db, here, catalogue_id=catalogue_id, viewer_id=account.id, on=on))
    return found


def _round(
    logged: RoundRow,
    showings: Sequence[ShowingRow],
    known: KnownPair,
    views: Views,
    given: Mapping[int, Mapping[int, Given]],
    left: Collection[int],
    set_by: Said | None,
) -> RoundView:
    why = Why(logged.why)
    return RoundView(
        id=logged.id,
        pair=known.lore.pair,
        why=why,
        why_words=joined(". ", (set_by, WHY_WORDS[why])) if set_by else WHY_WORDS[why],
        meet=logged.rounds_before == 0,
        showings=tuple(
            _showing(row, known, [views[one] for one in _shown(row)], given.get(row.id, {}), is_left=row.id in left)
            for row in showings
            if all(one in views for one in _shown(row))
        ),
        ends_at_miss=logged.ends_at_miss,
        spare=logged.spare,
    )


def _pictures_of(row: ShowingRow) -> tuple[int, ...]:
    return (row.picture_id,) if row.beside_id is None else (row.picture_id, row.beside_id)


def _shown(row: ShowingRow) -> list[tuple[int, Rendition]]:
    """Return what is shown, in the order of the places."""
    shown = [(picture_id, Rendition(row.rendition)) for picture_id in _pictures_of(row)]
    return shown[::-1] if row.beside_id is not None and row.asks[0]["key"] != beside_kind.PLACES[0] else shown


def _showing(row: ShowingRow, known: KnownPair, shown: Sequence[PictureView], given: Mapping[int, Given], *, is_left: bool) -> ShowingView:
    rendition = Rendition(row.rendition)
    pictures = [replace(one, shows=survivors(known.lore, one.shows, rendition)) for one in shown]
    second = pictures[1] if len(pictures) > 1 else None
    return ShowingView(
        id=row.id,
        picture=pictures[0],
        questions=tuple(_question(row, place, known, pictures[0], second) for place in range(len(row.asks))),
        rendition=rendition,
        first_sight=row.first_sight,
        third=row.third,
        given=given,
        left=is_left,
        second=second,
    )


def _question(row: ShowingRow, place: int, known: KnownPair, picture: PictureView, second: PictureView | None) -> Question:
    ask = ask_of(row.asks[place])
    if second is not None:
        return two_question(place, ask, row.form_id, known.lore, (picture, second))
    truth = known.lore.forms[row.form_id]
    return question_of(place, ask, truth, known.lore, picture, known.portraits, turn=row.id, stands_for=row.renamed or {})


def question_of(
    place: int,
    ask: Ask,
    truth: Form,
    lore: PairLore,
    picture: PictureView,
    portraits: Portraits,
    *,
    turn: int,
    stands_for: StandsFor = MappingProxyType({}),
) -> Question:
    """Return a question about a picture, ready to show; `turn` takes the portraits beside it by turns.

    A choice keeps the key that it was asked with, and is called by the form that `stands_for` it now.
    """
    if ask.kind == form_kind.KEY:
        hint, hint_mark = hint_for(lore, picture)
        return Question(
            place=place,
            kind=ask.kind,
            choices=tuple(_form_choice(choice, int(stands_for.get(choice, choice)), lore) for choice in ask.choices),
            key=ask.key,
            explained=explained(lore, truth, picture, portraits, turn=turn),
            hint=hint,
            hint_mark=hint_mark,
        )
    trait = lore.trait(ask.trait)
    return Question(
        place=place,
        kind=ask.kind,
        choices=tuple(Choice(key=key, label=trait.state(key).label) for key in ask.choices),
        key=ask.key,
        trait=trait,
        hint=say("Look here: {trait}.", trait=within(trait.label)),
        hint_mark=picture.marks.get(trait.key),
    )


def _form_choice(choice: str, form_id: int, lore: PairLore) -> Choice:
    if form_id == NEITHER:
        return Choice(key=choice, label=say("Neither of these"), side="neither")
    form = lore.pair.form(form_id)
    side = "first" if form.id == lore.pair.first.id else "second"
    return Choice(key=choice, label=form.name, wears=form.wears, side=side)
