"""Which trait a prompt asks for before the form is named: as the engine plans it, or otherwise at the same moments."""

from __future__ import annotations

from enum import Enum

import numpy as np

from drillhall.core.values import PlannedShowing
from tests.bench.learning.world import World

NOTHING = -1
FIRST_MARK, MARKS = 2, 3
TRAITS_OF_A_BIRD = 6
"""Traits 0 to 5 of the made-up world are the bird's, marks among them; the last two are pose and light."""


class Asking(Enum):
    """What becomes of the engine's prompts; where they are not told, attention follows the explanations alone, as under all policies."""

    NOT_TOLD = "not told"
    AS_PLANNED = "as planned"
    ANY_TRAIT = "any trait at the same moments"
    ALWAYS = "a mark that tells on every picture"


class AskingFor:
    """Finds the trait of the made-up world that a showing asks for."""

    def __init__(self, asking: Asking, world: World) -> None:
        self.asking, self.world = asking, world

    def trait(self, showing: PlannedShowing, *, learner: int, place: int, day: int) -> int:
        """Return the trait asked for, or NOTHING."""
        if self.asking is Asking.NOT_TOLD:
            return NOTHING
        prompt = next((ask.trait for ask in showing.asks if ask.kind == "trait"), "")
        if self.asking is Asking.ALWAYS:
            return FIRST_MARK + (showing.form_id - 1) % MARKS
        if not prompt:
            return NOTHING
        if self.asking is Asking.ANY_TRAIT:
            return int(np.random.default_rng([self.world.draws, day, place, learner, 9]).integers(TRAITS_OF_A_BIRD))
        return FIRST_MARK + (int(prompt.removeprefix("mark_")) - 1) % MARKS
