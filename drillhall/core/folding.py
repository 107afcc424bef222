"""Folds a pair's log into what is remembered and counted: nothing but the log goes in, so a rebuild gives the same."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from drillhall.core import placement
from drillhall.core.confusion import week_of
from drillhall.core.grading import grade_round
from drillhall.core.kinds import beside, form, trait
from drillhall.core.memory import USUAL_PARAMETERS, Parameters, next_memory, recall
from drillhall.core.values import NEITHER, Ask, GivenAnswer, Memory, Outcome, RatedRound, Rendition, Sure, TallyKey

PromptKey = tuple[int, str, int]
"""A catalogue, the key of a trait of it, and an ISO week (year * 100 + week)."""

BesideKey = tuple[int, int]
"""The form asked for of two pictures side by side, and an ISO week."""

PromptCount = tuple[int, int]
"""How often a trait was misread, or the wrong one of two pictures was named, and how often that was asked."""


@dataclass(frozen=True, slots=True)
class LoggedAnswer:
    """One answer of the log; `id` settles the order of two given at the same instant."""

    id: str
    ask: int
    said: str
    sure: Sure | None
    seconds: float
    hint: bool
    at: datetime


@dataclass(frozen=True, slots=True)
class LoggedShowing:
    """One showing as it is judged, with every answer it was given, repeats included.

    `counts` False: its picture has been relabelled, and nothing that was offered is right. `relabelled`: what is right to say of
    its traits is not known any more. `form_id` is the form asked for, where two pictures stand side by side.
    """

    id: int
    place: int
    form_id: int
    asks: tuple[Ask, ...]
    fresh: bool
    prompted: bool
    third: bool
    rendition: Rendition
    orientation: str
    answers: tuple[LoggedAnswer, ...]
    counts: bool = True
    relabelled: bool = False

    @property
    def is_rated(self) -> bool:
        """Whether its answer is rated: thirds and renditions are extras."""
        return not self.third and self.rendition is Rendition.AS_TAKEN

    def counted(self, ask: int) -> LoggedAnswer | None:
        """Return the answer that counts for a question: the one given first; later ones are repeats."""
        given = [answer for answer in self.answers if answer.ask == ask]
        return min(given, key=lambda answer: (answer.at, answer.id), default=None)

    @property
    def form_ask(self) -> int | None:
        """The place of the question which form it is, or None where it was not asked or counts for nothing."""
        if not self.counts:
            return None
        return next((place for place, ask in enumerate(self.asks) if ask.kind == form.KEY), None)


@dataclass(frozen=True, slots=True)
class LoggedRound:
    """One round with its showings; `day` is its local day, `pace_seconds` the time a showing it is judged by.

    `is_trial`: it tried whether she knows the pair already, and is judged by the sequential test.
    """

    id: int
    day: date
    pace_seconds: float
    showings: tuple[LoggedShowing, ...]
    is_trial: bool = False
    catalogue_id: int = 0


@dataclass(frozen=True, slots=True)
class PairFold:
    """What a pair's log comes to: the memory (None before a round is rated), the counts, and the rated rounds in order.

    prompts: by catalogue, trait and ISO week, how often she misread a trait when asked about it, of how often she was asked.
    besides: by form asked for and ISO week, how often she named the wrong one of two pictures, of how often she was asked.
    recalled: for each rated round after the first, the recall (0 to 1) that the scheduler gave that day before it, and whether it was held.
    """

    memory: Memory | None
    tally: Mapping[TallyKey, int]
    rated: tuple[RatedRound, ...]
    recalled: tuple[tuple[float, bool], ...] = ()
    prompts: Mapping[PromptKey, PromptCount] = field(default_factory=dict)
    besides: Mapping[BesideKey, PromptCount] = field(default_factory=dict)


def judged_by(showing: LoggedShowing, form_id: int | None) -> LoggedShowing:
    """Return a showing as it is judged by the form that its picture is said to show now.

    Parameters
    ----------
    showing : as it was planned.
    form_id : the form in force, or None where nobody can say which it is.

    Returns
    -------
    LoggedShowing : with that form's key, as a third where it is none of the pair; counting for nothing where no choice is right.
    """
    if form_id == showing.form_id:
        return showing
    place, showing = showing.form_ask, replace(showing, relabelled=True)
    if place is None:
        return showing
    ask = showing.asks[place]
    key = form.key_in_force(ask, form_id)
    if key is None or form_id is None:
        return replace(showing, counts=False)
    asks = (*showing.asks[:place], replace(ask, key=key), *showing.asks[place + 1 :])
    return replace(showing, form_id=form_id, asks=asks, third=key == str(NEITHER))


def judged_beside(showing: LoggedShowing, other_id: int, shown: tuple[int | None, int | None]) -> LoggedShowing:
    """Return a showing of two pictures as it is judged by the forms that they are said to show now.

    Parameters
    ----------
    showing : as it was planned, of the form asked for.
    other_id : the pair's other form.
    shown : the forms in force of the picture asked for and of the one beside it.

    Returns
    -------
    LoggedShowing : with the key in force, counting for nothing where the two do not show one form of the pair each.
    """
    keys = [beside.key_in_force(ask, planned=(showing.form_id, other_id), shown=shown) for ask in showing.asks]
    asks = tuple(replace(ask, key=key) for ask, key in zip(showing.asks, keys, strict=True) if key is not None)
    return replace(showing, asks=asks) if len(asks) == len(keys) else replace(showing, counts=False)


def fold_pair(rounds: Sequence[LoggedRound], *, parameters: Parameters = USUAL_PARAMETERS) -> PairFold:
    """Fold the rounds of one learner and one pair, in whatever order they come.

    Parameters
    ----------
    rounds : every round of the pair that has at least one answer.
    parameters : hers, where she has taken fitted ones.

    Returns
    -------
    PairFold : only the first round of a local day that comes to an outcome is rated; every answer that counts is tallied.
    """
    ordered = sorted((logged for logged in rounds if began(logged)), key=lambda logged: (began(logged), logged.id))
    rated: list[RatedRound] = []
    for logged in ordered:
        if rated and rated[-1].day >= logged.day:
            continue
        outcome = outcome_of(logged, rated[-1].outcome if rated else None)
        if outcome is not None:
            rated.append(RatedRound(day=logged.day, outcome=outcome))
    memory, recalled = _remembered(rated, parameters)
    return PairFold(
        memory=memory,
        tally=count_tally(ordered),
        rated=tuple(rated),
        recalled=recalled,
        prompts=count_prompts(ordered),
        besides=count_besides(ordered),
    )


def days_of_drills(drills: Iterable[tuple[str, str, datetime]], *, not_before: date | None = None) -> dict[str, date]:
    """Give each drill its local day: the date of its first answer in its own zone, never earlier than the drill before.

    Parameters
    ----------
    drills : (id, IANA zone, first answer as an aware instant), in any order.
    not_before : the local day of the learner's drill before these, or None.

    Returns
    -------
    dict : drill id to local day.
    """
    days: dict[str, date] = {}
    latest = not_before
    for drill_id, zone, first_at in sorted(drills, key=lambda drill: (drill[2], drill[0])):
        day = first_at.astimezone(ZoneInfo(zone)).date()
        latest = day if latest is None or day > latest else latest
        days[drill_id] = latest
    return days


def began(logged: LoggedRound) -> tuple[datetime, str] | None:
    """Return when a round was first answered, with the answer's id, by which rounds are put in order; None before it was."""
    return min(((answer.at, answer.id) for showing in logged.showings for answer in showing.answers), default=None)


def _remembered(rated: Sequence[RatedRound], parameters: Parameters) -> tuple[Memory | None, tuple[tuple[float, bool], ...]]:
    memory: Memory | None = None
    recalled = []
    for one in rated:
        if memory is not None:
            recalled.append((recall(memory, day=one.day, parameters=parameters), one.outcome.was_held))
        memory = next_memory(memory, one.outcome, day=one.day, parameters=parameters)
    return memory, tuple(recalled)


def outcome_of(logged: LoggedRound, before: Outcome | None) -> Outcome | None:
    """Return what a round has come to, None as yet; `before` is the outcome of the rated round before it of the same pair."""
    rated = [showing for showing in logged.showings if showing.is_rated and showing.form_ask is not None]
    given: list[tuple[datetime, str, GivenAnswer]] = []
    for showing in logged.showings:
        place = showing.form_ask
        answer = showing.counted(place) if place is not None else None
        if place is None or answer is None:
            continue
        right = answer.said == showing.asks[place].key
        counted = [showing.counted(number) for number in range(len(showing.asks))]
        graded = GivenAnswer(
            right=right,
            sure=answer.sure or Sure.POSSIBLE,
            seconds=answer.seconds,
            hint=any(one.hint for one in counted if one is not None),
            rated=showing.is_rated,
        )
        given.append((answer.at, answer.id, graded))
    given.sort(key=lambda item: item[:2])
    if logged.is_trial:
        return placement.outcome_of(placement.place([graded.right and not graded.hint for _, _, graded in given]))
    return grade_round([graded for _, _, graded in given], showings=len(rated), pace_seconds=logged.pace_seconds, before=before)


def count_tally(rounds: Iterable[LoggedRound]) -> dict[TallyKey, int]:
    """Count the answers to the question which form it is; of those given to one question, the first."""
    counts: Counter[TallyKey] = Counter()
    for logged in rounds:
        for showing in logged.showings:
            place = showing.form_ask
            answer = showing.counted(place) if place is not None else None
            if place is None or answer is None:
                continue
            key = TallyKey(
                shown_form_id=showing.form_id,
                said_form_id=int(answer.said) if answer.said else NEITHER,
                week=week_of(logged.day),
                fresh=showing.fresh,
                prompted=showing.prompted,
                rendition=showing.rendition,
                orientation=showing.orientation,
                choices=len(showing.asks[place].choices),
            )
            counts[key] += 1
    return dict(counts)


def count_prompts(rounds: Iterable[LoggedRound]) -> dict[PromptKey, PromptCount]:
    """Count the answers to questions about traits; those on pictures relabelled since say nothing."""
    counts: dict[PromptKey, PromptCount] = {}
    for logged in rounds:
        for showing in logged.showings:
            for place, ask in enumerate(showing.asks):
                answer = showing.counted(place) if ask.kind == trait.KEY and not showing.relabelled else None
                if answer is not None:
                    key = (logged.catalogue_id, ask.trait, week_of(logged.day))
                    missed, shown = counts.get(key, (0, 0))
                    counts[key] = (missed + (answer.said != ask.key), shown + 1)
    return counts


def count_besides(rounds: Iterable[LoggedRound]) -> dict[BesideKey, PromptCount]:
    """Count the answers to two pictures side by side: a forced choice, in no other count."""
    counts: dict[BesideKey, PromptCount] = {}
    for logged in rounds:
        for showing in logged.showings:
            for place, ask in enumerate(showing.asks):
                answer = showing.counted(place) if ask.kind == beside.KEY and showing.counts else None
                if answer is not None:
                    key = (showing.form_id, week_of(logged.day))
                    missed, shown = counts.get(key, (0, 0))
                    counts[key] = (missed + (answer.said != ask.key), shown + 1)
    return counts
