"""The plain policies that the engine is held against, and the one who knows what nobody can know."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from tests.bench.learning.numbers import PICTURES_A_FORM
from tests.bench.learning.twin import Schedule
from tests.bench.learning.world import Array, World


@dataclass(frozen=True)
class Shown:
    """What the learners `who` are shown next; `form` is 0, 1 or 2 of the pair, `neither` whether that may be said.

    asked: the trait asked for before the form, below 0 for none; None where prompts play no part in the course.
    """

    who: Array
    pair: Array
    form: Array
    picture: Array
    neither: Array
    asked: Array | None = None


class Policy(Protocol):
    """Decides what learners are shown, from what they answered and nothing else."""

    def begin(self, day: int, who: Array) -> None: ...

    def choose(self, place: int, who: Array, luck: Array) -> Shown: ...

    def hear(self, place: int, shown: Shown, said: Array, right: Array, sure: Array) -> None: ...

    def end(self) -> None: ...


class _Plain:
    """What plain policies share: a form by the throw of a coin, a picture at random."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.day = 0

    def begin(self, day: int, who: Array) -> None:
        self.day = day

    def hear(self, place: int, shown: Shown, said: Array, right: Array, sure: Array) -> None:
        pass

    def end(self) -> None:
        pass

    def _tie(self, place: int, width: int, what: int = 3) -> Array:
        return np.random.default_rng([self.world.draws, self.day, place, what]).random((self.world.learners, width))

    @staticmethod
    def _any(who: Array, pair: Array, luck: Array) -> Shown:
        form = (luck[1, who] >= 0.5).astype(int)
        picture = np.minimum((luck[2, who] * PICTURES_A_FORM).astype(int), PICTURES_A_FORM - 1)
        return Shown(who, pair, form, picture, np.zeros(len(who), bool))


class RandomOrder(_Plain):
    """A pair at random for every picture."""

    def choose(self, place: int, who: Array, luck: Array) -> Shown:
        return self._any(who, np.minimum((luck[0, who] * self.world.pair_count).astype(int), self.world.pair_count - 1), luck)


class Doubling(_Plain):
    """Intervals that double with every success, to 16 days, and begin anew after a miss; what is due first, longest overdue first."""

    LONGEST = 5

    def __init__(self, world: World) -> None:
        super().__init__(world)
        self.step = np.zeros((world.learners, world.pair_count), int)
        self.due = np.zeros((world.learners, world.pair_count), int)

    def begin(self, day: int, who: Array) -> None:
        super().begin(day, who)
        self.visits = np.zeros(self.due.shape, int)
        self.last = np.full(self.due.shape, -99)

    def choose(self, place: int, who: Array, luck: Array) -> Shown:
        due = (self.due[who] <= self.day) & (self.visits[who] == 0)
        late = self.day - self.due[who]
        score = np.where(due, 100 + late, late - 3 * self.visits[who]) + 0.5 * self._tie(place, self.world.pair_count)[who]
        return self._any(who, (score - 50 * (place - self.last[who] <= 3)).argmax(1), luck)

    def hear(self, place: int, shown: Shown, said: Array, right: Array, sure: Array) -> None:
        at = (shown.who, shown.pair)
        due = self.due[at] <= self.day
        self.step[at] = np.where(right, np.minimum(self.step[at] + due, self.LONGEST), 0)
        self.due[at] = np.where(due | ~right, self.day + 2 ** np.maximum(self.step[at] - 1, 0), self.due[at])
        self.visits[at] += 1
        self.last[at] = place


class MemoryAPicture(_Plain):
    """A scheduler's memory for each picture, lowest recall first, twenty new pictures a day after what is due."""

    NEW_A_DAY = 20

    def __init__(self, world: World) -> None:
        super().__init__(world)
        self.forms = int(world.pairs[:, :2].max()) + 1
        self.schedule = Schedule(world.learners, self.forms * PICTURES_A_FORM)
        self.met = np.zeros((world.learners, self.schedule.items), bool)
        holders = [[pair for pair, row in enumerate(world.pairs) if form in row[:2]] or [0] for form in range(self.forms)]
        self.pair_of = np.array([(pairs * 12)[:12] for pairs in holders])
        self.used = np.isin(np.arange(self.forms), world.pairs[:, :2]).repeat(PICTURES_A_FORM)

    def begin(self, day: int, who: Array) -> None:
        super().begin(day, who)
        self.visits = np.zeros(self.met.shape, int)
        self.last = np.full(self.met.shape, -99)
        self.missed = np.zeros(self.met.shape, bool)
        self.new = np.zeros(self.world.learners, int)
        self.lacking = np.clip((1 - self.schedule.recall(day)) / 0.1, 0, 2) / 2

    def choose(self, place: int, who: Array, luck: Array) -> Shown:
        met, visits, lacking = self.met[who], self.visits[who], self.lacking[who]
        due = met & (self.schedule.due[who] <= self.day) & (visits == 0)
        relearn = met & self.missed[who] & (visits == 1)
        tie = self._tie(place, self.schedule.items)[who]
        score = np.where(due, 100 + lacking, np.where(relearn, 80 + lacking, lacking - 0.5 * visits)) + 0.02 * tie
        score = np.where(met, score - 200 * (place - self.last[who] <= 3) - 20 * (visits >= 24), -1e6)
        may_be_new = (self.new[who] < self.NEW_A_DAY)[:, None] & ~met & self.used
        item = np.where(may_be_new, 50 - tie, score).argmax(1)
        self.new[who] += ~self.met[who, item]
        form = item // PICTURES_A_FORM
        pair = self.pair_of[form, (luck[1, who] * 12).astype(int)]
        side = (self.world.pairs[pair, 1] == form).astype(int)
        return Shown(who, pair, side, item % PICTURES_A_FORM, np.zeros(len(who), bool))

    def hear(self, place: int, shown: Shown, said: Array, right: Array, sure: Array) -> None:
        item = self.world.pairs[shown.pair, shown.form] * PICTURES_A_FORM + shown.picture
        numbers = self.world.numbers
        rating = np.where(right, np.where(sure < numbers.possible_below, 2, np.where(sure > numbers.certain_from, 4, 3)), 1)
        self.schedule.rate(shown.who, item, rating, self.day)
        self.met[shown.who, item] = True
        self.visits[shown.who, item] += 1
        self.last[shown.who, item] = place
        self.missed[shown.who, item] = ~right
        self.lacking[shown.who, item] = 0


class EqualTurns(_Plain):
    """Rounds of three, the pair with the fewest pictures next, pictures never seen first; of `among`, where given, those alone.

    With `among` = the pairs that a learner did not know it is the oracle. `marks`: of pictures equally seen, those first on which the
    marks of the pair show.
    """

    ROUND = 3

    def __init__(self, world: World, *, among: Array | None = None, marks: bool = False) -> None:
        super().__init__(world)
        self.marks = marks
        self.among = np.ones((world.learners, world.pair_count), bool) if among is None else among
        self.shown = np.zeros(self.among.shape)
        self.seen = np.zeros((world.learners, world.form_count, PICTURES_A_FORM))
        self.step = 0

    def choose(self, place: int, who: Array, luck: Array) -> Shown:
        if place % self.ROUND == 0:
            least = self.shown + 0.9 * self._tie(place, self.world.pair_count) + 1e6 * ~self.among
            if place:
                least[who, self.pair[who]] += 1e5
            self.pair, self.forms = least.argmin(1), np.zeros(self.world.learners, int)
        pair = self.pair[who]
        form = (luck[1, who] >= 0.5).astype(int)
        if place % self.ROUND == self.ROUND - 1:
            form = np.where(self.forms[who] == 0, 1, np.where(self.forms[who] == self.ROUND - 1, 0, form))
        self.forms[who] += form
        self.shown[who, pair] += 1
        of = self.world.pairs[pair, form]
        self.step += 1
        tie = 0.9 * self._tie(place, PICTURES_A_FORM, 4)[who]
        picture = (self.seen[who, of] + (self._hidden(who, pair, of) + tie / 4 if self.marks else tie)).argmin(1)
        self.seen[who, of, picture] = self.step
        return Shown(who, pair, form, picture, np.zeros(len(who), bool))

    def _hidden(self, who: Array, pair: Array, of: Array) -> Array:
        """Return for each picture of a form how much of the two marks that tell the pair is hidden, 0 to 0.6."""
        shown = self.world.visible[self.world.club[who], of]
        marks = self.world.pairs[pair, :2] % shown.shape[-1]
        return 0.6 - 0.3 * np.take_along_axis(shown, marks[:, None, :], 2).sum(-1)
