"""Chooses pictures for a round: her own once each, what tells in sight, never seen first, typical while it helps, alike, longest ago."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Final

from drillhall.core.values import Candidate

if TYPE_CHECKING:
    from random import Random

FRESH_AFTER: Final = timedelta(days=60)
"""A picture not seen for so long counts as fresh again."""

STILL_IN_MIND: Final = timedelta(days=1)
"""A picture seen within this time is shown again only for want of others."""

RESTED_AFTER: Final = timedelta(days=7)
"""A picture not seen for so long may come before one never seen on which half of what tells the pair, or more, is hidden.

Clean examples make a clean memory (Patil et al. 2014); our own bench shows what it gains, a few days more or less change little.
"""

_RESTED: Final = 1.1
_UNTYPICAL: Final = 0.5
_ALL_HIDDEN: Final = 2.5
"""What a picture loses by these, where never seen is 0, fresh again 1, seen of late 2, and still in mind 3."""

_LONG_AGO: Final = datetime.min.replace(tzinfo=UTC)
_Likeness = tuple[str, str]


class PictureShelf:
    """The pictures a round may take, each once; ties fall by the dice. `telling` is what each trait is worth, where that is asked for.

    Her own that she never drilled come first, for half of a round at most, and only where she has such of two forms: else whose
    picture it is would tell which form it shows.
    """

    def __init__(
        self,
        candidates: Sequence[Candidate],
        *,
        now: datetime,
        dice: Random,
        typical_first: bool,
        telling: Mapping[str, float] | None = None,
    ) -> None:
        once = {candidate.picture_id: candidate for candidate in candidates}
        self._left = [once[picture_id] for picture_id in sorted(once)]
        dice.shuffle(self._left)
        self._now = now
        self._dice = dice
        self._typical_first = typical_first
        self._telling = telling or {}
        self._all_telling = sum(self._telling.values())
        self._hers_first = len({one.form_id for one in once.values() if _is_new_and_hers(one)}) > 1
        self._merits = {picture_id: self._merit(candidate) for picture_id, candidate in once.items()}

    def holds(self, form_id: int) -> bool:
        """Say whether a picture of the form is left."""
        return any(candidate.form_id == form_id for candidate in self._left)

    def draw(self, forms: Sequence[int], *, instead: Mapping[int, int]) -> list[Candidate]:
        """Take a picture for each form in turn; where a form has none left, one of the form that may stand instead, or none."""
        likeness = self._common_likeness(forms)
        drawn: list[Candidate] = []
        for form_id in forms:
            able = self._of(form_id) or self._of(instead.get(form_id, form_id))
            if able:
                hers = self._hers_first and 2 * sum(one.own for one in drawn) < len(forms)
                best = min(able, key=lambda candidate: (not (hers and _is_new_and_hers(candidate)), *self._rank(candidate, likeness)))
                self._left.remove(best)
                drawn.append(best)
        return drawn

    def _of(self, form_id: int) -> list[Candidate]:
        return [candidate for candidate in self._left if candidate.form_id == form_id]

    def _rank(self, candidate: Candidate, likeness: _Likeness) -> tuple[float, int, datetime]:
        """Rank a picture, the best lowest."""
        unlike = (candidate.orientation != likeness[0]) + (candidate.setting != likeness[1])
        return (self._merits[candidate.picture_id], unlike, candidate.seen_at or _LONG_AGO)

    def _merit(self, candidate: Candidate) -> float:
        """What comes before likeness: how fresh a picture is, what of the telling traits is hidden on it, whether it must be typical."""
        untypical = self._typical_first and not candidate.typical
        return self._staleness(candidate) + (_UNTYPICAL if untypical else 0.0) + _ALL_HIDDEN * self._hidden(candidate)

    def _hidden(self, candidate: Candidate) -> float:
        """Return the share of what tells the pair that cannot be seen on a picture, 0 where nobody has said what can."""
        if candidate.shows is None or not self._telling:
            return 0.0
        return sum(worth for trait, worth in self._telling.items() if trait not in candidate.shows) / self._all_telling

    def _staleness(self, candidate: Candidate) -> float:
        if candidate.seen_at is None:
            return 2.0 if candidate.own else 0.0
        ago = self._now - candidate.seen_at
        if ago >= FRESH_AFTER and not candidate.own:
            return 1.0
        if self._telling and ago >= RESTED_AFTER and not candidate.own:
            return _RESTED
        return 2.0 if ago >= STILL_IN_MIND else 3.0

    def _common_likeness(self, forms: Sequence[int]) -> _Likeness:
        """Choose the orientation and setting in which most of the round can be shown at its best; of equals, by the dice.

        What both forms are shown in cannot give either away. Only the best pictures of each form count: likeness comes after
        freshness.
        """
        fits: Counter[_Likeness] = Counter()
        for form_id, wanted in Counter(forms).items():
            able = self._of(form_id)
            best = min((self._merits[one.picture_id] for one in able), default=0.0)
            likenesses = Counter((one.orientation, one.setting) for one in able if self._merits[one.picture_id] == best)
            for likeness, count in likenesses.items():
                fits[likeness] += min(count, wanted)
        most = max(fits.values(), default=0)
        return self._dice.choice(sorted(likeness for likeness, count in fits.items() if count == most) or [("", "")])


def is_fresh(candidate: Candidate, *, now: datetime) -> bool:
    """Say whether a picture is fresh to the learner at a moment: never seen, or not for 60 days; her own never is."""
    return not candidate.own and (candidate.seen_at is None or now - candidate.seen_at >= FRESH_AFTER)


def _is_new_and_hers(candidate: Candidate) -> bool:
    return candidate.own and candidate.seen_at is None
