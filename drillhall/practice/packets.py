"""What a drill holds, ready to show: frozen values without rows, from which pages and packets are rendered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from drillhall.core.regions import in_pixels
from drillhall.core.values import Form, Mark, Pair, Rendition, Standing, Sure, Trait, Why


@dataclass(frozen=True, slots=True)
class Size:
    """One stored size of a picture; `recipe` stands in its address."""

    recipe: str
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True)
class PictureView:
    """A picture as one person may be shown it: its sizes from small to large, its credit, and the marks on it by trait.

    `alt` names neither the form nor a deciding state; `credit_short` gives nothing away before the answer; `credit` is the whole
    of it up to the licence, which a page links, and `changed` what has been done to it. `width_px` and `height_px` are those of
    what the sizes show: the whole, or a cut of it. `frame` is set where the whole is shown zoomed in on a part, since its licence
    forbids a cut; it and the marks are then told on the whole. `subject` is which of several is meant. `shows` are the traits that
    can be seen on it, or None where nobody has said.
    """

    public_id: str
    sizes: tuple[Size, ...]
    width_px: int
    height_px: int
    alt: str
    medium: str
    credit: str
    credit_short: str
    marks: Mapping[str, Mark]
    may_cut: bool = True
    licence: str = ""
    licence_url: str = ""
    changed: str = ""
    frame: Mark | None = None
    subject: Mark | None = None
    shows: frozenset[str] | None = None

    @property
    def part(self) -> tuple[int, int, int, int]:
        """What of its sizes is shown: left, top, width and height in the pixels of `width_px` and `height_px`."""
        return in_pixels(self.frame, self.width_px, self.height_px) if self.frame else (0, 0, self.width_px, self.height_px)

    @property
    def large(self) -> Size:
        """The largest stored size."""
        return self.sizes[-1]


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that may be said: `side` is "first", "second" or "neither" for a form, "" for a state."""

    key: str
    label: str
    wears: str = ""
    side: str = ""


@dataclass(frozen=True, slots=True)
class CloseUp:
    """One side of an explanation: a form, a picture of it (or None), the mark of the trait told, and its state in words of a language."""

    form: Form
    picture: PictureView | None
    mark: Mark | None
    state: str
    language: str = ""


@dataclass(frozen=True, slots=True)
class Explained:
    """What is said once a form has been named: the truth, the trait that decides here and the two sides, first form first.

    `trait` is None where no trait separates the two; `decides` whether it is the trait that decides, else it only helps; `third`
    is the picture itself where it shows neither of the two.
    """

    truth: Form
    trait: Trait | None
    decides: bool
    first: CloseUp
    second: CloseUp
    mark: Mark | None
    third: CloseUp | None = None


@dataclass(frozen=True, slots=True)
class TwoTold:
    """Two pictures side by side: the form asked for, the trait that decides on both (None without one), and what stands in either place."""

    asked: Form
    trait: Trait | None
    decides: bool
    first: CloseUp
    second: CloseUp


@dataclass(frozen=True, slots=True)
class Question:
    """One question of a showing, in place `place`; `explained` belongs to a question about the form, `trait` to one about a trait, `two` to
    one about two pictures.

    `hint` is the sentence of *where do I look*, with `hint_mark` the region it rings.
    """

    place: int
    kind: str
    choices: tuple[Choice, ...]
    key: str
    trait: Trait | None = None
    explained: Explained | None = None
    hint: str = ""
    hint_mark: Mark | None = None
    two: TwoTold | None = None


@dataclass(frozen=True, slots=True)
class Given:
    """What was answered to a question already: what was said, and how sure."""

    said: str
    sure: Sure | None


@dataclass(frozen=True, slots=True)
class ShowingView:
    """One picture put before the learner with its questions; `given` holds the answers already stored, by the question's place.

    `left` says whether it is still to be shown, as things stand: not once it is answered or its round has ended, and in a spare
    round not before there is time for it. `second` is the picture in the second place, where two stand side by side.
    """

    id: int
    picture: PictureView
    questions: tuple[Question, ...]
    rendition: Rendition
    first_sight: bool
    third: bool
    given: Mapping[int, Given]
    left: bool = True
    second: PictureView | None = None

    @property
    def pictures(self) -> tuple[PictureView, ...]:
        """What is shown: one picture, or two in their places."""
        return (self.picture,) if self.second is None else (self.picture, self.second)


@dataclass(frozen=True, slots=True)
class RoundView:
    """One round: its pair, why it is here, whether the pair is met for the first time, and its showings.

    `ends_at_miss`: its first miss ends it; `spare`: it is played only in the time that others leave.
    """

    id: int
    pair: Pair
    why: Why
    why_words: str
    meet: bool
    showings: tuple[ShowingView, ...]
    ends_at_miss: bool = False
    spare: bool = False


@dataclass(frozen=True, slots=True)
class Packet:
    """Today's drill, whole: enough to play it without the network; `banners` are cautions that stay in sight throughout."""

    drill_id: str
    planned_at: datetime
    until: datetime
    minutes: int
    rounds: tuple[RoundView, ...]
    withdrawn: tuple[str, ...]
    seconds_a_showing: float
    single_keys: bool
    letter_keys: bool = True
    banners: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TraitTold:
    """One trait of a pair as it is told: its worth in words ("decides, right 9 times in 10"), both sides, and the thirds that share it."""

    trait: Trait
    worth: str
    misleads: bool
    first: CloseUp
    second: CloseUp
    thirds: tuple[CloseUp, ...] = ()


@dataclass(frozen=True, slots=True)
class MeasureTold:
    """One measured trait of a pair as it is told, all in words: what either form measures, and what that is worth; a weak one tells
    hardly anything."""

    label: str
    first: str
    second: str
    worth: str
    is_weak: bool


@dataclass(frozen=True, slots=True)
class Meeting:
    """A pair to be met: its portraits (their `mark` is None, their `state` empty), the author's note, its traits in order of telling.

    `measures` are the measured traits, in their own order of telling, since no picture shows them.
    `banners` are cautions that stay in sight, `on_print` those that stand on every print.
    """

    pair: Pair
    note: str
    first: CloseUp
    second: CloseUp
    traits: tuple[TraitTold, ...]
    list_name: str = ""
    banners: tuple[str, ...] = ()
    on_print: tuple[str, ...] = ()
    measures: tuple[MeasureTold, ...] = ()
    note_language: str = ""


@dataclass(frozen=True, slots=True)
class MixedUp:
    """How often, in one drill, one form was called something else; `said` is None for *neither*."""

    shown: Form
    said: Form | None
    times: int


@dataclass(frozen=True, slots=True)
class RoundEnded:
    """One pair of a drill that is over: how many were right of those shown, its standing before and now, and when it comes back."""

    pair: Pair
    right: int
    shown: int
    before: Standing
    now: Standing
    back_in_days: int | None


@dataclass(frozen=True, slots=True)
class DrillEnd:
    """What a drill came to: its pairs in order, what was mixed up with what, the pair to look at more closely, what is left to do."""

    drill_id: str
    rounds: tuple[RoundEnded, ...]
    mixed: tuple[MixedUp, ...]
    closer: Pair | None
    left: int
    cautions: tuple[str, ...]
    banners: tuple[str, ...] = ()
