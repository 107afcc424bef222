"""Works out which form of a pair set an organism is: what was seen so far, how likely each form is, and where to look next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType

from sqlalchemy.orm import Session

from drillhall.core.cautions import in_the_hand
from drillhall.core.measures import measure_bits, weigh
from drillhall.core.reading import COMMONNESS_WORDS, MEASURED, Reading, next_traits, priors_of, read
from drillhall.core.sight import Sight, can_read_states, sight_told
from drillhall.core.values import Form, Measured, Trait
from drillhall.core.wording import state_meant
from drillhall.errors import Invalid, NotFound
from drillhall.practice.cautioning import banners_of
from drillhall.practice.days import local_day
from drillhall.practice.lore import FormsLore, lore_of_forms
from drillhall.practice.reader import reader_of
from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.models.people import AccountRow
from drillhall.store.queries import sets as reading_sets
from drillhall.words import say, within

UNSAID = "fairly common"
"""What a form is taken for whose steward has not said how common it is, where that is said of others."""


@dataclass(frozen=True, slots=True)
class LikelyForm:
    """A form with its chance after what was seen (0 to 1), and the steward's word for how common it is; empty where unsaid."""

    form: Form
    chance: float
    common: str


@dataclass(frozen=True, slots=True)
class TraitToSee:
    """A trait of the set: the state marked as seen, or empty; `hard_to_see`: she has told that its colours look alike to her."""

    trait: Trait
    seen: str
    hard_to_see: bool


@dataclass(frozen=True, slots=True)
class MeasureToTake:
    """A trait that forms of the set have been measured by, and the value typed in, or None."""

    trait: Trait
    value: float | None


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """The page: traits with the most telling one first, forms with the likeliest first, and the trait to look at next, or None.

    `surprise`: hardly any form of the set shows what was seen. `evenly`: all forms are taken as equally common.
    """

    pair_set_id: int
    title: str
    traits: tuple[TraitToSee, ...]
    forms: tuple[LikelyForm, ...]
    look_next: Trait | None
    surprise: bool
    evenly: bool
    says_common: bool
    list_name: str
    banners: tuple[str, ...]
    measures: tuple[MeasureToTake, ...] = ()
    in_the_hand: str = ""

    @property
    def seen(self) -> int:
        """How many traits have been marked, or measured."""
        return sum(bool(one.seen) for one in self.traits) + sum(one.value is not None for one in self.measures)


@dataclass(frozen=True, slots=True)
class SetToRead:
    """A pair set of a learner's by which an organism can be worked out."""

    id: int
    title: str
    catalogue: str


def list_sets_to_read(db: Session, account_id: int, *, now: datetime) -> tuple[SetToRead, ...]:
    """Return the pair sets that a learner drills, in the order in which they came to her."""
    today = local_day(db.get_one(AccountRow, account_id), now)
    return tuple(SetToRead(row.id, title, catalogue) for row, title, catalogue in reading_sets.her_sets(db, account_id, on=today))


def work_out(
    db: Session,
    account_id: int,
    pair_set_id: int,
    said: Mapping[str, str],
    *,
    measured: Mapping[str, float] = MappingProxyType({}),
    evenly: bool = False,
    now: datetime,
) -> WorkedOut:
    """Read an organism by the states said to be seen, and by what was measured in the hand.

    Parameters
    ----------
    said : trait key to a state's key, its label, or a word that it is also called by; an empty one was not looked at, and what is no
        trait of the set is passed over.
    measured : trait key to a value in the trait's unit; what is no measured trait of the set is passed over.
    evenly : take all forms as equally common.

    Raises
    ------
    NotFound : the set is none of hers.
    Invalid : a word that means no state, naming the trait; a value beyond all measure.
    """
    account = db.get_one(AccountRow, account_id)
    today = local_day(account, now)
    one = next((one for one in reading_sets.her_sets(db, account_id, on=today) if one[0].id == pair_set_id), None)
    if one is None:
        raise NotFound(say("There is no such pair set among yours. Take it from the shelf first."))
    row = one[0]
    lore = lore_of_forms(db, row.catalogue_id, reading_sets.forms_of_set(db, pair_set_id), reader=reader_of(account))
    told = [trait for trait in lore.traits if any(trait.key in chances for chances in lore.chances.values())]
    measures = _measures(lore, measured)
    seen = _seen(told, said) | {one.trait.key: MEASURED for one in measures if one.value is not None}
    reading, traits, look_next = _read(lore, told, seen, measures, sight_told(account.colour_vision), evenly=evenly)
    return WorkedOut(
        pair_set_id=pair_set_id,
        title=row.title,
        traits=traits,
        forms=tuple(
            LikelyForm(lore.forms[form], chance, COMMONNESS_WORDS.get(lore.commonness.get(form, ""), ""))
            for form, chance in reading.chances.items()
        ),
        look_next=look_next,
        surprise=reading.surprise,
        evenly=evenly,
        says_common=bool(lore.commonness),
        list_name=db.get_one(CatalogueRow, row.catalogue_id).list_name,
        banners=banners_of(db, [row.catalogue_id]),
        measures=measures,
        in_the_hand=in_the_hand(measures[0].trait.subject) if measures else "",
    )


def _read(
    lore: FormsLore, told: list[Trait], seen: Mapping[str, str], measures: Sequence[MeasureToTake], sight: Sight, *, evenly: bool
) -> tuple[Reading, tuple[TraitToSee, ...], Trait | None]:
    """Return the reading, the traits in the order in which they tell before anything was seen, and the one to look at next."""
    chances = {form_id: lore.chances.get(form_id, {}) for form_id in lore.forms}
    priors = None if evenly or not lore.commonness else priors_of({form: lore.commonness.get(form, UNSAID) for form in lore.forms})
    weighed = {one.trait.key: weigh(one.value, _of_trait(lore, one.trait)) for one in measures if one.value is not None}
    reading = read(seen, chances, priors=priors, weighed=weighed)
    from_scratch = [one.trait for one in next_traits(read({}, chances, priors=priors), told, chances)]
    ordered = [*from_scratch, *[trait for trait in told if trait.key in seen and trait not in from_scratch]]
    readable = {trait.key for trait in ordered if can_read_states(trait, sight)}
    ordered.sort(key=lambda trait: trait.key not in readable)
    ahead = next_traits(reading, ordered, chances, visible=readable)
    marked = {trait: state for trait, state in seen.items() if trait not in weighed}
    traits = tuple(TraitToSee(trait, marked.get(trait.key, ""), trait.key not in readable) for trait in ordered)
    return reading, traits, ahead[0].trait if ahead else None


def _measures(lore: FormsLore, measured: Mapping[str, float]) -> tuple[MeasureToTake, ...]:
    """Return the traits that forms of the set have been measured by, the one that tells most first."""
    even = dict.fromkeys(lore.forms, 1 / max(1, len(lore.forms)))
    found = [(measure_bits(even, said), trait) for trait in lore.traits if (said := _of_trait(lore, trait))]
    return tuple(MeasureToTake(trait, measured.get(trait.key)) for _, trait in sorted(found, key=lambda one: -one[0]))


def _of_trait(lore: FormsLore, trait: Trait) -> dict[int, Measured]:
    return {form_id: said[trait.key] for form_id, said in lore.measures.items() if trait.key in said}


def _seen(traits: list[Trait], said: Mapping[str, str]) -> dict[str, str]:
    """Return trait key to state key of what was said, in the traits' order."""
    found = {}
    for trait in traits:
        word = said.get(trait.key, "")
        if not word:
            continue
        state = state_meant(trait, word)
        if state is None:
            names = ", ".join(state.label for state in trait.states)
            raise Invalid(
                say('"{word}" is no state of {trait}: mark one of {names}.', word=word, trait=within(trait.label), names=names),
                field=trait.key,
            )
        found[trait.key] = state.key
    return found
