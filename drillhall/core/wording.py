"""Hears what was said in a learner's own words: which state of a trait a word means, however it is spelt."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Mapping
from typing import Final

from drillhall.core.values import State, Trait, Words


def fold_word(said: str) -> str:
    """Return a word without case, accents and needless spaces, as it is compared.

    Source
    ------
    Unicode Standard, chapter 3.13 (default caseless matching) and annex 15 (normalization form NFKD); marks of category Mn are left
    out. A hyphen counts as a space.

    >>> fold_word("  Schwärz-lich  GRAU ")
    'schwarz lich grau'
    """
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", said).casefold())
    bare = "".join(sign for sign in apart if unicodedata.category(sign) != "Mn")
    return " ".join(bare.replace("-", " ").replace("‐", " ").split())


def state_meant(trait: Trait, said: str) -> State | None:
    """Return the state that a word means, in whatever language; None where two states or none fit.

    A label or key counts before what another state is also called, so that an author's own word is never taken away by a synonym;
    both count before the words of languages in which the trait is not told, so that nobody's own word means something foreign.

    >>> from drillhall.core.values import TraitKind, Words
    >>> states = (State("buff", "buff", ("sandy", "straw")), State("rust", "rusty", said={"de": Words("rostrot")}))
    >>> crown = Trait("crown", "Crown", "head", TraitKind.COLOUR, states)
    >>> state_meant(crown, "Stráw").key, state_meant(crown, "Rostrot").key
    ('buff', 'rust')
    """
    word = fold_word(said)
    if not word:
        return None
    for names in _BY_RANK:
        meant = [state for state in trait.states if word in {fold_word(name) for name in names(state)}]
        if meant:
            return meant[0] if len(meant) == 1 else None
    return None


def ambiguous_words(trait: Trait) -> tuple[str, ...]:
    """Return the words, folded, that more than one state of a trait goes by in the language in which it is told."""
    return _shared({state.key: (state.key, state.label, *state.also_called) for state in trait.states})


def ambiguous_elsewhere(states: Iterable[State], language: str) -> tuple[str, ...]:
    """Return the words, folded, that more than one state goes by in another language than its own; a key is a word in all of them."""
    said = {state.key: state.said.get(language, Words()) for state in states}
    return _shared({key: (key, words.label, *words.also_called) for key, words in said.items()})


def _shared(names: Mapping[str, Iterable[str]]) -> tuple[str, ...]:
    """Return the words that stand under more than one key, empty ones left aside."""
    seen: dict[str, set[str]] = {}
    for key, words in names.items():
        for word in filter(None, map(fold_word, words)):
            seen.setdefault(word, set()).add(key)
    return tuple(sorted(word for word, keys in seen.items() if len(keys) > 1))


_BY_RANK: Final[tuple[Callable[[State], tuple[str, ...]], ...]] = (
    lambda state: (state.key, state.label),
    lambda state: state.also_called,
    lambda state: tuple(words.label for words in state.said.values()),
    lambda state: tuple(word for words in state.said.values() for word in words.also_called),
)
"""What a state goes by, the words that count first before the others."""
