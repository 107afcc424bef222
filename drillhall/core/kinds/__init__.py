"""Kinds of question, one module each: what may be said, what is right, whether a learner says how sure she is."""

from __future__ import annotations

from typing import Final, Protocol

from drillhall.core.kinds import beside, form, trait
from drillhall.core.values import Ask
from drillhall.errors import BadAnswer
from drillhall.words import say


class Kind(Protocol):
    """What every kind of question offers."""

    @property
    def KEY(self) -> str:  # noqa: N802 - a module's constant is named like one
        """The word by which an ask names its kind."""

    @property
    def takes_sure(self) -> bool:
        """Whether the learner says how sure she is."""

    def validate(self, ask: Ask, said: str) -> None:
        """Refuse what cannot be said to this ask."""

    def is_right(self, ask: Ask, said: str) -> bool:
        """Say whether an answer is right."""


KINDS: Final[tuple[Kind, ...]] = (form, trait, beside)


def the_kind(key: str) -> Kind:
    """Return the kind of that key, or refuse."""
    for kind in KINDS:
        if key == kind.KEY:
            return kind
    raise BadAnswer(
        say('"{key}" is no kind of question: the hall asks {choices}.', key=key, choices=", ".join(kind.KEY for kind in KINDS)),
        field="kind",
    )
