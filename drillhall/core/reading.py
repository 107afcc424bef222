"""Reads an organism by the states seen on it: what it may be, how likely each form is, and which trait to look at next."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import log2
from types import MappingProxyType
from typing import Final

from drillhall.core.measures import Weighed
from drillhall.core.traits import LEAST_UNSAID
from drillhall.core.values import FormTraits, Trait
from drillhall.errors import Invalid
from drillhall.words import Said, say

COMMONNESS: Final[Mapping[str, float]] = MappingProxyType(
    {"abundant": 100.0, "common": 30.0, "fairly common": 10.0, "scarce": 3.0, "rare": 1.0, "very rare": 0.1}
)
"""What a steward's word for how common a form is here and now stands for: so many among each other; common practice, no source."""

COMMONNESS_WORDS: Final[Mapping[str, Said]] = MappingProxyType(
    {
        "abundant": say("abundant"),
        "common": say("common"),
        "fairly common": say("fairly common"),
        "scarce": say("scarce"),
        "rare": say("rare"),
        "very rare": say("very rare"),
    }
)
"""The same words, told in the reader's language."""

LEAST_PRIOR: Final = 0.001
"""No form of the set is taken to be less likely than this before looking: what is in the set can turn up."""

MOST_CERTAIN: Final = 0.99
"""However many states speak for it, no form is called more likely than this: traits are not independent, and eyes err."""

MEASURED: Final = "measured"
"""What stands for the state of a trait that was measured."""


@dataclass(frozen=True, slots=True)
class Reading:
    """How likely each form is after what was seen; `surprise` says that no form explains what was seen.

    chances: form id to chance, summing to 1, the likeliest first; used: trait and state of what was taken into account.
    """

    chances: Mapping[int, float]
    used: tuple[tuple[str, str], ...]
    surprise: bool


@dataclass(frozen=True, slots=True)
class NextTrait:
    """A trait that was not looked at yet, and the information in bits that looking is expected to give."""

    trait: Trait
    bits: float


def priors_of(commonness: Mapping[int, str]) -> dict[int, float]:
    """Turn a steward's words for how common each form is here and now into chances before looking.

    Parameters
    ----------
    commonness : form id to word, a key of COMMONNESS.

    Returns
    -------
    dict: form id to chance, summing to 1, none below 0.001 of the whole before the last scaling.

    Raises
    ------
    Invalid: a word that is none of those, or no form at all.

    >>> {form: round(chance, 3) for form, chance in priors_of({1: "common", 2: "rare"}).items()}
    {1: 0.968, 2: 0.032}
    """
    if not commonness:
        raise Invalid(say("Name at least one form to read an organism by."), field="forms")
    for word in commonness.values():
        if word not in COMMONNESS:
            raise Invalid(
                say('"{word}" is no word for how common a form is: use one of {choices}.', word=word, choices=", ".join(COMMONNESS)),
                field="commonness",
            )
    return _scaled({form_id: COMMONNESS[word] for form_id, word in commonness.items()}, least=LEAST_PRIOR)


def read(
    seen: Mapping[str, str],
    chances: Mapping[int, FormTraits],
    *,
    priors: Mapping[int, float] | None = None,
    weighed: Mapping[str, Weighed] = MappingProxyType({}),
) -> Reading:
    """Say how likely each form is after the states seen, and after what was measured.

    Each state seen multiplies a form's chance by how often that form shows it; a form that has no say on the trait is neither raised
    nor lowered. The traits are taken to be independent given the form, which is an approximation and must be said where the result
    is shown; for that reason no form is ever called more likely than 0.99, and none impossible.

    Parameters
    ----------
    seen : trait key to state key, for the traits that were looked at.
    chances : form id to trait to chances of its states.
    weighed : trait key to how a value measured there counts, as `measures.weigh` says; it takes the place of a state of that trait.
    priors : form id to chance before looking; None for equal ones. A form of the set that is left out counts as rare as can be.

    Returns
    -------
    Reading.

    Raises
    ------
    Invalid: no form, or a state that no form's trait knows.

    Source
    ------
    Bayes' rule with conditional independence ("naive Bayes"); R. O. Duda and P. E. Hart, 1973, chapter 2 (from memory).

    >>> told = {1: {"wing": {"bar": 0.92, "plain": 0.08}}, 2: {"wing": {"bar": 0.04, "plain": 0.96}}}
    >>> round(read({"wing": "bar"}, told, priors={1: 0.01, 2: 0.99}).chances[1], 4)
    0.1885
    """
    if not chances:
        raise Invalid(say("Name at least one form to read an organism by."), field="forms")
    before = _scaled({form_id: 1.0 if priors is None else priors.get(form_id, 0.0) for form_id in chances}, least=LEAST_PRIOR)
    likelihood, shown = dict.fromkeys(chances, 1.0), dict.fromkeys(chances, 1.0)
    looked_at = {trait: state for trait, state in seen.items() if trait not in weighed}
    told = [weighed[trait] for trait in weighed]
    for trait, state in looked_at.items():
        _refuse_unknown(trait, state, chances)
        factors = _factors(trait, state, chances)
        told.append(Weighed(factors, factors))
    for one in told:
        for form_id in chances:
            likelihood[form_id] *= one.factors.get(form_id, sum(one.factors.values()) / len(one.factors))
            shown[form_id] *= one.tails.get(form_id, sum(one.tails.values()) / len(one.tails))
    after = _scaled({form_id: before[form_id] * likelihood[form_id] for form_id in chances}, least=0.0)
    ranked = sorted(_held_back(after).items(), key=lambda one: (-one[1], one[0]))
    surprise = bool(told) and max(shown.values()) < _surprise_below(len(told))
    used = (*looked_at.items(), *((trait, MEASURED) for trait in weighed))
    return Reading(chances=dict(ranked), used=used, surprise=surprise)


def next_traits(
    reading: Reading, traits: Sequence[Trait], chances: Mapping[int, FormTraits], *, visible: Collection[str] | None = None
) -> tuple[NextTrait, ...]:
    """Rank the traits not yet looked at by how much looking is expected to tell about which form it is.

    Parameters
    ----------
    reading : what is known so far.
    traits : the traits of the set, in the author's order.
    chances : as for `read`.
    visible : keys of the traits that can be seen on the organism as it stands; None where all can.

    Returns
    -------
    tuple of NextTrait: the most telling first, those that tell nothing left out; of equals, the author's order.

    Source
    ------
    Mutual information of form and state: C. E. Shannon, A Mathematical Theory of Communication, 1948, section 12.

    >>> from drillhall.core.values import State, TraitKind
    >>> wing = Trait("wing", "Wing", "wing", TraitKind.PATTERN, (State("bar", "a bar"), State("plain", "plain")))
    >>> told = {1: {"wing": {"bar": 0.92, "plain": 0.08}}, 2: {"wing": {"bar": 0.04, "plain": 0.96}}}
    >>> [(one.trait.key, round(one.bits, 4)) for one in next_traits(read({}, told), (wing,), told)]
    [('wing', 0.6766)]
    """
    looked_at = {trait for trait, _ in reading.used}
    found = []
    for trait in traits:
        if trait.key in looked_at or (visible is not None and trait.key not in visible):
            continue
        bits = expected_bits(reading.chances, {form_id: said[trait.key] for form_id, said in chances.items() if trait.key in said})
        if bits > _NOTHING:
            found.append(NextTrait(trait, bits))
    return tuple(sorted(found, key=lambda one: -one.bits))


def expected_bits(forms: Mapping[int, float], states: Mapping[int, Mapping[str, float]]) -> float:
    """Return the information about the form that the state of one trait is expected to give, in bits.

    Parameters
    ----------
    forms : form id to chance, summing to 1.
    states : form id to chances of the trait's states; a form that is absent has no say, and is taken to show the states as the
        others do together, so that it neither gains nor loses.

    Returns
    -------
    float: 0 or more, at most the uncertainty that is left.

    Source
    ------
    Shannon (1948), section 12: H(state) − H(state | form), over the forms that have a say, times their chance.

    >>> round(expected_bits({1: 0.5, 2: 0.5}, {1: {"bar": 0.92, "plain": 0.08}, 2: {"bar": 0.04, "plain": 0.96}}), 4)
    0.6766
    """
    heard = {form_id: forms[form_id] for form_id in states if forms.get(form_id, 0.0) > 0}
    mass = sum(heard.values())
    if mass <= 0:
        return 0.0
    overall: dict[str, float] = {}
    within = 0.0
    for form_id, weight in heard.items():
        within += weight / mass * _entropy(states[form_id].values())
        for state, chance in states[form_id].items():
            overall[state] = overall.get(state, 0.0) + weight / mass * chance
    return max(0.0, mass * (_entropy(overall.values()) - within))


_NOTHING: Final = 1e-9


def _entropy(chances: Collection[float]) -> float:
    return -sum(chance * log2(chance) for chance in chances if chance > 0)


def _refuse_unknown(trait: str, state: str, chances: Mapping[int, FormTraits]) -> None:
    known = {key for said in chances.values() for key in said.get(trait, {})}
    if not known:
        raise Invalid(say('No form of this set has a say on the trait "{trait}".', trait=trait), field=trait)
    if state not in known:
        raise Invalid(
            say(
                '"{state}" is no state of the trait "{trait}": its states are {choices}.',
                state=state,
                trait=trait,
                choices=", ".join(sorted(known)),
            ),
            field=trait,
        )


def _factors(trait: str, state: str, chances: Mapping[int, FormTraits]) -> dict[int, float]:
    """Return how often each form shows the state; one without a say gets the mean of the others, and none less than 0.02."""
    said = {form_id: max(traits[trait].get(state, 0.0), LEAST_UNSAID) for form_id, traits in chances.items() if trait in traits}
    mean = sum(said.values()) / len(said)
    return {form_id: said.get(form_id, mean) for form_id in chances}


def _scaled(weights: Mapping[int, float], *, least: float) -> dict[int, float]:
    in_all = sum(weights.values())
    if in_all <= 0:
        return dict.fromkeys(weights, 1 / len(weights))
    raised = {form_id: max(weight / in_all, least) for form_id, weight in weights.items()}
    return {form_id: weight / sum(raised.values()) for form_id, weight in raised.items()}


def _held_back(chances: Mapping[int, float]) -> dict[int, float]:
    """Let no form be more likely than 0.99 where there is another; what is over goes to the others, as they stand to each other."""
    first = max(chances, key=lambda form_id: chances[form_id])
    rest = sum(chance for form_id, chance in chances.items() if form_id != first)
    if len(chances) == 1 or chances[first] <= MOST_CERTAIN:
        return dict(chances)
    others = len(chances) - 1
    return {
        form_id: MOST_CERTAIN if form_id == first else (1 - MOST_CERTAIN) * (chance / rest if rest > 0 else 1 / others)
        for form_id, chance in chances.items()
    }


def _surprise_below(looked_at: int) -> float:
    """Even the form that explains it best shows such states less than once in ten, taken over each trait."""
    return 0.1**looked_at
