"""Hears what was said in a learner's own words: which state of a trait a word means, however it is spelt."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from drillhall.core.values import State, Trait


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
    """Return the state that a word means: by its label or key, else by what it is also called; None where two states or none fit.

    A label counts before what another state is also called, so that an author's own word is never taken away by a synonym.

    >>> from drillhall.core.values import TraitKind
    >>> states = (State("buff", "buff", ("sandy", "straw")), State("rust", "rusty", ("chestnut",)))
    >>> state_meant(Trait("crown", "Crown", "head", TraitKind.COLOUR, states), "Stráw").key
    'buff'
    """
    word = fold_word(said)
    if not word:
        return None
    for names in ((lambda state: (state.key, state.label)), (lambda state: state.also_called)):
        meant = [state for state in trait.states if word in {fold_word(name) for name in names(state)}]
        if meant:
            return meant[0] if len(meant) == 1 else None
    return None


def ambiguous_words(trait: Trait) -> tuple[str, ...]:
    """Return the words, folded, that more than one state of a trait goes by; a catalogue's check may name them."""
    seen: dict[str, set[str]] = {}
    for state in trait.states:
        for name in _every_name(state):
            seen.setdefault(fold_word(name), set()).add(state.key)
    return tuple(sorted(word for word, states in seen.items() if len(states) > 1))


def _every_name(state: State) -> Iterable[str]:
    return (state.key, state.label, *state.also_called)
