"""The simulated learner: keeps every picture as a trace that fades, and names a new one by its likeness to them.

Source: the generalized context model, Nosofsky (1986), J Exp Psychol Gen 115:39; spacing as in Pavlik and Anderson (2005), Cogn Sci
29:559 (both from memory). It knows nothing of any scheduler: schedulers see right or wrong, and how sure she says she is.
"""

from __future__ import annotations

import numpy as np
from scipy.special import ndtri

from tests.bench.learning.numbers import MINUTES_A_DAY, PICTURES_A_FORM
from tests.bench.learning.world import FADING_GRID, FADING_RATES, Array, World, fading_weights

FIRST, SECOND, THIRD = 0, 1, 2


class Minds:
    """What all learners of a world remember under one policy."""

    def __init__(self, world: World) -> None:
        self.world = world
        shape = (world.learners, world.form_count, PICTURES_A_FORM, len(FADING_RATES))
        self.traces = np.zeros(shape, np.float32)
        self.attention = np.zeros((world.learners, world.pair_count))
        self.wary = np.zeros((world.learners, world.pair_count))
        self.asked = np.zeros((world.learners, world.pair_count, world.told.shape[-1]))
        for learner, pair in np.argwhere(world.known):
            self.traces[learner, world.pairs[pair, :2], :, -1] = world.numbers.known_trace
            self.attention[learner, pair] = world.numbers.known_attention
        self._minute = 0.0

    def wake(self, day: int) -> None:
        """Let everything fade until the morning of a day."""
        passed = day * MINUTES_A_DAY - self._minute
        if passed > 0:
            self.traces *= np.exp(-FADING_RATES * passed).astype(np.float32)
            kept = (1 - self.world.numbers.attention_lost_a_day) ** (passed / MINUTES_A_DAY)
            self.attention *= kept
            self.wary *= kept
            self.asked *= kept
            self._minute = day * MINUTES_A_DAY

    def show(
        self,
        who: Array,
        pair: Array,
        form: Array,
        picture: Array,
        *,
        minute: float,
        luck: Array,
        neither: Array,
        asked: Array | None = None,
    ) -> tuple[Array, Array, Array]:
        """Show each learner one picture, take the answer, and explain it.

        form: FIRST, SECOND or THIRD of the pair; luck: this place's throws, (7, learner); neither: whether it was offered;
        asked: the trait that a prompt asked for first, below 0 for none.
        Returns what was said (THIRD is *neither*), whether it was right, and how sure she was, 0 to 1.
        """
        if asked is not None:
            self._ask(who, pair, asked)
        chances, own = self._chances(who, pair, form * PICTURES_A_FORM + picture, form, minute, neither)
        said = np.minimum((luck[3, who][:, None] > np.cumsum(chances, 1)[:, :2]).sum(1), np.where(neither, THIRD, SECOND))
        right = said == form
        believed = np.clip(chances[np.arange(len(who)), said], 1e-3, 1 - 1e-3)
        noise = ndtri(np.clip(luck[4, who], 1e-4, 1 - 1e-4))
        sure = 1 / (1 + np.exp(-(np.log(believed / (1 - believed)) + self.world.people["confidence"][who] + 0.6 * noise)))
        self._keep(who, self.world.pairs[pair, form], picture, own, minute)
        self._explain(who, pair, form, right)
        return said, right, sure

    def _chances(self, who: Array, pair: Array, probe: Array, form: Array, minute: float, neither: Array) -> tuple[Array, Array]:
        """Return the chances of each answer, and how familiar the picture is as its own form."""
        world, people = self.world, self.world.people
        apart = world.to_practice[world.club[who], pair, probe]
        likeness = np.exp(-np.matmul(apart, self._weights(who, pair).astype(np.float32)[:, :, None])[..., 0])
        faded = np.exp(-FADING_RATES * minute).astype(np.float32)
        strength = np.matmul(self.traces[who[:, None], world.pairs[pair]], faded)
        sums = (likeness.reshape(len(who), 3, PICTURES_A_FORM) * strength).sum(-1).astype(float)
        own = sums[np.arange(len(who)), form]
        background, choice, slip = (people[name][who] for name in ("background", "choice", "slip"))
        evidence = np.stack(
            [
                (sums[:, 0] + background) ** choice,
                (sums[:, 1] + background) ** choice,
                np.where(neither, (sums[:, 2] + 0.6 * people["refusing"][who] * background) ** choice, 0.0),
            ],
            1,
        )
        offered = np.stack([np.ones(len(who)), np.ones(len(who)), neither.astype(float)], 1)
        chances = evidence / evidence.sum(1, keepdims=True)
        return (1 - slip)[:, None] * chances + slip[:, None] * offered / offered.sum(1, keepdims=True), own

    def _weights(self, who: Array, pair: Array) -> Array:
        """Return how much each trait counts: what strikes the eye, moved towards what was explained."""
        world = self.world
        told = world.told[world.club[who], pair].copy()
        if self.wary.any():
            told[..., 5] *= 1 - self.wary[who, pair]
            told /= told.sum(-1, keepdims=True)
        moved, asked = self.attention[who, pair][..., None], self.asked[who, pair]
        struck = (1 - moved - asked.sum(-1, keepdims=True)) * world.people["salience"][who, pair]
        return (struck + moved * told + asked) * world.people["similarity"][who][..., None]

    def _keep(self, who: Array, form: Array, picture: Array, own: Array, minute: float) -> None:
        """Keep the picture under its true name; the more familiar it was, the sooner this trace fades."""
        world = self.world
        power = world.people["fading"][who] + world.numbers.spacing * own / (own + 4 * world.people["background"][who])
        place = np.clip(np.round((power - FADING_GRID[0]) / (FADING_GRID[1] - FADING_GRID[0])).astype(int), 0, len(FADING_GRID) - 1)
        self.traces[who, form, picture] += fading_weights()[place] * np.exp(FADING_RATES * minute).astype(np.float32)

    def _ask(self, who: Array, pair: Array, trait: Array) -> None:
        """Move attention towards the one trait that is asked for, away from all else."""
        who, pair, trait = who[trait >= 0], pair[trait >= 0], trait[trait >= 0]
        moved = self.world.numbers.moved_by_a_prompt * self.world.people["attention"][who]
        self.attention[who, pair] *= 1 - moved
        self.asked[who, pair] *= 1 - moved[:, None]
        self.asked[who, pair, trait] += moved

    def _explain(self, who: Array, pair: Array, form: Array, right: Array) -> None:
        numbers = self.world.numbers
        moved = np.where(right, numbers.moved_by_a_hit, numbers.moved_by_a_miss) * self.world.people["attention"][who]
        third = form == THIRD
        moved_on = np.where(third, 0.5, 1) * moved
        self.attention[who, pair] += moved_on * (1 - self.attention[who, pair])
        self.asked[who, pair] *= (1 - moved_on)[:, None]
        self.wary[who, pair] += np.where(third, 3 * moved, 0) * (1 - self.wary[who, pair])

    def right_rates(self) -> Array:
        """Return each learner's chance of naming a held-out picture, by pair and form: (learner, pair, 2)."""
        world = self.world
        strength = self.traces.sum(-1)
        everyone = np.arange(world.learners)
        rates = np.zeros((world.learners, world.pair_count, 2))
        two = 2 * PICTURES_A_FORM
        for pair in range(world.pair_count):
            weights = self._weights(everyone, np.full(world.learners, pair)).astype(np.float32)
            sums = np.zeros((world.learners, two, 2))
            for club in range(world.clubs):
                members = np.flatnonzero(world.club == club)
                apart = np.tensordot(weights[members], world.to_held_out[club, pair, :two, :two], axes=([1], [2]))
                likeness = np.exp(-apart).reshape(-1, two, 2, PICTURES_A_FORM)
                sums[members] = np.einsum("lqfi,lfi->lqf", likeness, strength[members][:, world.pairs[pair, :2]])
            people = world.people
            powered = (sums + people["background"][:, None, None]) ** people["choice"][:, None, None]
            first = powered[..., 0] / powered.sum(-1)
            first = (1 - people["slip"])[:, None] * first + people["slip"][:, None] / 2
            rates[:, pair, 0] = first[:, :PICTURES_A_FORM].mean(1)
            rates[:, pair, 1] = 1 - first[:, PICTURES_A_FORM:].mean(1)
        return rates
