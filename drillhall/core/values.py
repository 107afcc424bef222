"""The plain values the hall thinks with: frozen, without clock, dice, files or database.

Ids are the store's integers. A *form* stands in a pair by its side: `first` is always on the left, everywhere.
Durations end in their unit, probabilities run from 0 to 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from typing import Final

NEITHER: Final = 0
"""What an answer of *neither* says, where a form's id would stand; no form has the id 0."""


class Sure(StrEnum):
    """How sure a learner is of an answer, in the words of record keeping."""

    CERTAIN = "certain"
    PROBABLE = "probable"
    POSSIBLE = "possible"


class Outcome(StrEnum):
    """How a round went; the only thing the scheduler hears of it."""

    MISSED = "missed"
    UNSURE = "held, unsure"
    HELD = "held"
    EASE = "held with ease"

    @property
    def was_held(self) -> bool:
        """Whether every rated answer of the round was right."""
        return self is not Outcome.MISSED


class Standing(StrEnum):
    """Where a learner is with a pair."""

    UNMET = "unmet"
    SHAKY = "shaky"
    STEADY = "steady"
    FIELD_READY = "field-ready"


class TraitKind(StrEnum):
    """What sort of character a trait is; the order is that of telling, among traits of like worth."""

    STRUCTURE = "structure"
    SIZE = "size"
    PATTERN = "pattern"
    BEHAVIOUR = "behaviour"
    COLOUR = "colour"


class Rendition(StrEnum):
    """How a picture is shown."""

    AS_TAKEN = "as taken"
    SHAPE_ONLY = "shape only"
    FAR_OFF = "far off"


class Use(StrEnum):
    """What a picture is for: drilled, standing for its form and never asked, or kept for tests."""

    PRACTICE = "practice"
    PORTRAIT = "portrait"
    HELD_OUT = "held-out"


class Why(StrEnum):
    """Why a round is in today's drill."""

    NEW = "new"
    WEAK = "weak"
    DUE = "due"
    EARLY = "early"
    AGAIN = "again"


@dataclass(frozen=True, slots=True)
class Form:
    """What a learner must tell apart: a concept in a given sex, life stage, plumage and variant."""

    id: int
    name: str
    scientific_name: str
    sex: str = ""
    life_stage: str = ""
    plumage: str = ""
    variant: str = ""
    language: str = "en"

    @property
    def wears(self) -> str:
        """The words under the name: variant, plumage or life stage, and sex; empty for a form without any."""
        stage = "" if self.life_stage == "adult" and self.plumage else self.life_stage
        return ", ".join(word for word in (stage, self.plumage, self.sex, self.variant) if word)


@dataclass(frozen=True, slots=True)
class State:
    """One state of a trait; `also_called` are words that mean the same, `colour` an sRGB hex or empty."""

    key: str
    label: str
    also_called: tuple[str, ...] = ()
    colour: str = ""


@dataclass(frozen=True, slots=True)
class Trait:
    """One visible character with its states; `part` is the place on the organism, `ask` the question put to a learner."""

    key: str
    label: str
    part: str
    kind: TraitKind
    states: tuple[State, ...]
    ask: str = ""

    def state(self, key: str) -> State:
        """Return the state of that key, or raise KeyError."""
        for state in self.states:
            if state.key == key:
                return state
        raise KeyError(key)


Chances = Mapping[str, float]
"""State key → chance that a specimen of the form shows it; the chances of a form's trait sum to 1."""

FormTraits = Mapping[str, Chances]
"""Trait key → chances, for one form; a trait the form has no say on is absent."""


@dataclass(frozen=True, slots=True)
class Third:
    """A form that shares the misleading trait `trait` with a pair."""

    form_id: int
    trait: str


@dataclass(frozen=True, slots=True)
class Pair:
    """Two forms that get confused; `first.id < second.id`, and the first stands on the left."""

    id: int
    first: Form
    second: Form

    def other(self, form_id: int) -> Form:
        """Return the form of the pair that is not `form_id`."""
        return self.second if form_id == self.first.id else self.first

    def form(self, form_id: int) -> Form:
        """Return the form of that id, or raise KeyError."""
        for form in (self.first, self.second):
            if form.id == form_id:
                return form
        raise KeyError(form_id)


@dataclass(frozen=True, slots=True)
class PairLore:
    """What one catalogue says of a pair: traits, chances per form (thirds included), thirds, a note."""

    pair: Pair
    traits: tuple[Trait, ...]
    chances: Mapping[int, FormTraits]
    thirds: tuple[Third, ...] = ()
    note: str = ""

    def trait(self, key: str) -> Trait:
        """Return the trait of that key, or raise KeyError."""
        for trait in self.traits:
            if trait.key == key:
                return trait
        raise KeyError(key)


@dataclass(frozen=True, slots=True)
class Mark:
    """A rectangle on a picture that shows a trait, in fractions of width and height after turning upright."""

    trait: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Candidate:
    """A picture that a round may show: what the planner must know of it.

    `seen_at` is the learner's last sight of it anywhere in the hall, or None; `own` says that it is her own picture,
    which is never first sight to her; `shows` are the traits that can be seen on it, or None where nobody has said.
    """

    picture_id: int
    form_id: int
    orientation: str = ""
    setting: str = ""
    pose: str = ""
    typical: bool = True
    seen_at: datetime | None = None
    own: bool = False
    shows: frozenset[str] | None = None
    may_alter: bool = False


@dataclass(frozen=True, slots=True)
class Memory:
    """The scheduler's state of one learner for one pair.

    stability_days > 0: days until recall falls to 0.9; difficulty 1 to 10; last_day: local day of the last rated round;
    rounds: rated rounds so far; held_running: rated rounds held in a row up to now; last: outcome of the last one.
    """

    stability_days: float
    difficulty: float
    last_day: date
    rounds: int = 1
    held_running: int = 0
    last: Outcome = Outcome.HELD


@dataclass(frozen=True, slots=True)
class RatedRound:
    """What a fold of the memory needs of one rated round."""

    day: date
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class GivenAnswer:
    """What grading needs of one answer to the question which form it is, in the order given.

    `rated` is False for a third; `seconds` is the time from seeing the picture to the answer.
    """

    right: bool
    sure: Sure
    seconds: float
    hint: bool = False
    rated: bool = True


@dataclass(frozen=True, slots=True)
class PairToday:
    """What `plan_drill` must know of one pair that a learner may drill.

    stage: order of stage and place in it, the easiest first; memory None: never rated; met: a round of it was begun;
    due_day None for a pair never rated; mixup_rate: her estimated chance of a mix-up over both directions;
    recent_pictures: pictures of this pair lately, each drill since counting 0.93 of the next;
    rounds_today: rounds already given today; after: pairs that should be met before this one.
    """

    pair_id: int
    first_form_id: int
    second_form_id: int
    stage: tuple[int, int] = (0, 0)
    memory: Memory | None = None
    met: bool = False
    due_day: date | None = None
    mixup_rate: float = 0.5
    recent_pictures: float = 0.0
    rounds_today: int = 0
    after: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class DrillWish:
    """What the learner has set.

    minutes: time to give; seconds_a_showing: her median; new_a_day: 0 to 10; round_length: pictures a round (2 to 6), None for the default.
    """

    minutes: float = 10.0
    seconds_a_showing: float = 12.0
    new_a_day: int = 5
    round_length: int | None = None


@dataclass(frozen=True, slots=True)
class PlannedRound:
    """One round of today's drill: its pair, how many showings, and why it is here."""

    pair_id: int
    showings: int
    why: Why


@dataclass(frozen=True, slots=True)
class RoundNeeds:
    """What `build_round` must know beside the candidates.

    rounds_before: rounds of this pair already begun; first_share: the first form's share of her smoothed misses (0 to 1);
    settled: the standing as it was after the last rated round; missed_last: whether that round was missed;
    missed_trait: the trait whose prompt she last missed on this pair, or empty; neither_allowed: the leader's switch;
    third_share: share of thirds among showings where *neither* is offered (0 to 0.10).
    """

    lore: PairLore
    showings: int
    rounds_before: int = 0
    first_share: float = 0.5
    settled: Standing = Standing.UNMET
    missed_last: bool = False
    missed_trait: str = ""
    neither_allowed: bool = True
    third_share: float = 0.05


@dataclass(frozen=True, slots=True)
class Ask:
    """One question of a showing: its kind (a key of KINDS), what may be said, and the key.

    kind "form": choices are form ids and maybe NEITHER, as text; kind "trait": `trait` names it, choices are its state keys.
    """

    kind: str
    choices: tuple[str, ...]
    key: str
    trait: str = ""


@dataclass(frozen=True, slots=True)
class PlannedShowing:
    """One picture put before a learner, with its questions in order.

    form_id is what the picture shows; for a third the right answer is NEITHER, and nothing of it is rated.
    """

    picture_id: int
    form_id: int
    asks: tuple[Ask, ...]
    rendition: Rendition = Rendition.AS_TAKEN
    first_sight: bool = False
    prompted: bool = False
    third: bool = False


@dataclass(frozen=True, slots=True)
class TallyKey:
    """One cell of the tally of a learner and a pair.

    said: a form's id or NEITHER; week: ISO week of the local day as year * 100 + week; fresh: first sight, or not seen for 60 days.
    """

    shown_form_id: int
    said_form_id: int
    week: int
    fresh: bool
    prompted: bool
    rendition: Rendition
    orientation: str
    choices: int


@dataclass(frozen=True, slots=True)
class Interval:
    """A closed interval of a proportion, 0 <= low <= high <= 1."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Direction:
    """How well a learner tells one form of a pair from the other: counts, likely range and estimated rate of mix-up."""

    shown_form_id: int
    right: int
    shown: int
    fresh_right: int
    fresh_shown: int
    likely: Interval
    fresh_likely: Interval
    mixup_rate: float


@dataclass(frozen=True, slots=True)
class FreshAnswer:
    """One fresh answer, for the standing: the form shown, whether it was right, its local day, the pair's rounds begun before it."""

    shown_form_id: int
    right: bool
    day: date
    rounds_before: int


@dataclass(frozen=True, slots=True)
class Faults:
    """Faults found in one go, each a full sentence naming file, row or key, and the mend."""

    lines: tuple[str, ...] = field(default=())

    def __bool__(self) -> bool:
        """Return whether there is any fault."""
        return bool(self.lines)
