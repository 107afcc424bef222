"""What is told apart: forms and pairs, their traits, and where on a picture a trait shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final

from drillhall.core.values.worn import worn_words
from drillhall.words import Said, say


class TraitKind(StrEnum):
    """What sort of character a trait is; the order is that of telling, among traits of like worth."""

    STRUCTURE = "structure"
    SIZE = "size"
    PATTERN = "pattern"
    BEHAVIOUR = "behaviour"
    COLOUR = "colour"

    @property
    def words(self) -> Said:
        """What a page calls it."""
        return _KIND_WORDS[self]


_KIND_WORDS: Final = {
    TraitKind.STRUCTURE: say("structure"),
    TraitKind.SIZE: say("size"),
    TraitKind.PATTERN: say("pattern"),
    TraitKind.BEHAVIOUR: say("behaviour"),
    TraitKind.COLOUR: say("colour"),
}


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
    def wears(self) -> Said:
        """The words under the name: variant, plumage or life stage, and sex; empty for a form without any."""
        return worn_words(self.life_stage, self.plumage, self.sex, self.variant)


@dataclass(frozen=True, slots=True)
class Words:
    """What a catalogue says of a trait, a state or a pair in one language; what it does not say there is empty."""

    label: str = ""
    ask: str = ""
    also_called: tuple[str, ...] = ()
    note: str = ""


Tongues = Mapping[str, Words]
"""Language (a tag of BCP 47) → what is said in it."""


@dataclass(frozen=True, slots=True)
class State:
    """One state of a trait; `also_called` are words that mean the same, `colour` an sRGB hex or empty.

    `language` is that of its words, `said` what it is called in others.
    """

    key: str
    label: str
    also_called: tuple[str, ...] = ()
    colour: str = ""
    language: str = "en"
    said: Tongues = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True)
class Trait:
    """One visible character with its states; `part` is the place on the organism, `ask` the question put to a learner.

    `subject` is what its catalogue is about, one of SUBJECTS of `core/terms.py`; empty where that is not said.
    `unit` is what it is measured in, empty where it is not; a trait that is measured alone has no states.
    `language` is that of its words, `said` what it is called in others.
    """

    key: str
    label: str
    part: str
    kind: TraitKind
    states: tuple[State, ...]
    ask: str = ""
    subject: str = ""
    unit: str = ""
    language: str = "en"
    said: Tongues = field(default_factory=dict, hash=False)

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
class Measured:
    """A measure of one form in its trait's unit: mean, spread (standard deviation, above 0), and how many were measured, where told."""

    mean: float
    spread: float
    n: int | None = None


FormMeasures = Mapping[str, Measured]
"""Trait key → measure, for one form; a trait that was not measured is absent."""


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
    """What one catalogue says of a pair: traits, chances per form (thirds included), thirds, a note; `third_forms` are the thirds.

    `measures` are by form id, as chances are; `note_language` is that of the note.

    `hard_to_see` are keys of the traits whose colours look alike to whoever it is told to: told last, and not asked for.
    `in_order` is where `traits.order_of_telling` keeps what it has made of it, for it is asked for with every picture.
    """

    pair: Pair
    traits: tuple[Trait, ...]
    chances: Mapping[int, FormTraits]
    thirds: tuple[Third, ...] = ()
    note: str = ""
    third_forms: tuple[Form, ...] = ()
    hard_to_see: frozenset[str] = frozenset()
    measures: Mapping[int, FormMeasures] = field(default_factory=dict)
    note_language: str = ""
    in_order: list[Any] = field(default_factory=list, init=False, repr=False, compare=False)

    @property
    def forms(self) -> dict[int, Form]:
        """The pair's two forms and its thirds, by id."""
        return {form.id: form for form in (self.pair.first, self.pair.second, *self.third_forms)}

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


class Use(StrEnum):
    """What a picture is for: drilled, standing for its form and never asked, or kept for tests."""

    PRACTICE = "practice"
    PORTRAIT = "portrait"
    HELD_OUT = "held-out"


class Rendition(StrEnum):
    """How a picture is shown."""

    AS_TAKEN = "as taken"
    SHAPE_ONLY = "shape only"
    FAR_OFF = "far off"
