"""Builds one round: which form by its own throw, which picture, and which questions are put about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final

from drillhall.core.kinds import form as form_kind
from drillhall.core.kinds import trait as trait_kind
from drillhall.core.prompts import order_of_asking
from drillhall.core.rounds.choose import PictureShelf
from drillhall.core.rounds.extras import find_extra
from drillhall.core.traits import TELLS_BITS, TraitWorth, order_of_telling
from drillhall.core.values import Ask, Candidate, Misses, PairLore, PlannedShowing, RoundNeeds, Standing

if TYPE_CHECKING:
    from random import Random

LEAST_FORM_SHARE: Final = 0.3
"""Either form stands in at least this share of showings, so that leaning on the form missed more often gives nothing away."""

BOTH_FORMS_ROUNDS: Final = 2
"""In a pair's first rounds, so many, both forms appear; later a round may hold one alone, so that nobody can work out the last."""

LEAST_RATED: Final = 2
"""Thirds leave a round at least so many showings that count."""

MOST_THIRD_SHARE: Final = 0.10
"""With more thirds than this, people begin to refuse true ones."""

NEW_ROUNDS: Final = 2
"""A pair is new, and prompted as such, for so many rounds."""

AS_THEY_COME_ONE_IN: Final = 2
"""One round in so many of a steady pair takes pictures as fresh as there are, whatever is hidden on them, as the field does."""

SETTLED: Final = (Standing.STEADY, Standing.FIELD_READY)


def build_round(needs: RoundNeeds, candidates: Sequence[Candidate], *, now: datetime, dice: Random) -> tuple[PlannedShowing, ...]:
    """Choose the showings of one round, with their questions in order.

    Each showing's form is drawn by its own throw. A picture never seen comes before one not seen for 60 days, that before one seen
    since, and one seen within the last day comes last; among those, typical ones while the pair is not steady, then pictures like
    the round's others in orientation and setting, then the one seen longest ago. Where the catalogue tells what can be seen, one on
    which half of what tells the pair is hidden waits behind those that were last seen a week ago or more, but for every second
    round of a steady pair. Once the pair is steady, *neither* is offered
    throughout, and now and then a third stands in for a form; thirds take their chance per showing and leave two showings rated.
    A trait is asked for before the form on two showings while the pair is new or was missed last, on one until it is steady, and
    then only while the trait whose prompt was last missed waits to be put right. One round in three of a steady pair ends on an
    extra: a picture she knows, as from far off or as a shape.

    Parameters
    ----------
    needs : what the learner's past asks of this round
    candidates : pictures that may be shown to her of either form and of thirds; rights and use are the caller's business
    now : the moment of planning, aware, for how long ago a picture was seen
    dice : the same dice give the same round

    Returns
    -------
    tuple of PlannedShowing: at most `needs.showings` and an extra, less where pictures are lacking, empty where neither form has any
    """
    pair = needs.lore.pair
    told = order_of_telling(needs.lore)
    shelf = PictureShelf(candidates, now=now, dice=dice, typical_first=needs.settled not in SETTLED, telling=_telling(needs, told))
    neither = needs.neither_allowed and needs.settled in SETTLED
    forms = _throw_forms(needs, dice)
    if neither:
        forms = _with_thirds(forms, needs, shelf, dice)
    drawn = shelf.draw(forms, instead={pair.first.id: pair.second.id, pair.second.id: pair.first.id})
    if not any(candidate.form_id in (pair.first.id, pair.second.id) for candidate in drawn):
        return ()
    misread = needs.trait_misses
    own = Misses(sum(one.missed for one in misread.values()), sum(one.shown for one in misread.values()))
    asked = order_of_asking(told, misread, missed_last=needs.missed_trait, own=own)
    prompts = _Prompts(needs, asked, left=_prompts_wanted(needs))
    showings = tuple(_showing(candidate, needs.lore, prompts, neither=neither) for candidate in drawn)
    if needs.settled not in SETTLED:
        return showings
    taken = {candidate.picture_id for candidate in drawn}
    extra = find_extra(needs.lore, candidates, taken, neither=neither, now=now, dice=dice)
    return (*showings, extra) if extra else showings


def _telling(needs: RoundNeeds, told: Sequence[TraitWorth]) -> dict[str, float]:
    """Return what each trait tells about the pair, in bits, where that decides on the pictures: in all rounds until the pair is steady."""
    as_they_come = needs.settled in SETTLED and needs.rounds_before % AS_THEY_COME_ONE_IN == 0
    if not needs.marks_first or as_they_come:
        return {}
    return {worth.trait.key: worth.bits for worth in told if worth.parts_them and worth.bits >= TELLS_BITS}


def _throw_forms(needs: RoundNeeds, dice: Random) -> list[int]:
    """Throw for each showing which form it is; in a pair's first rounds, one is turned over if all fell alike."""
    pair = needs.lore.pair
    share = min(max(needs.first_share, LEAST_FORM_SHARE), 1 - LEAST_FORM_SHARE)
    forms = [pair.first.id if dice.random() < share else pair.second.id for _ in range(needs.showings)]
    if needs.rounds_before < BOTH_FORMS_ROUNDS and len(forms) > 1 and len(set(forms)) == 1:
        turned = dice.randrange(len(forms))
        forms[turned] = pair.other(forms[turned]).id
    return forms


def _with_thirds(forms: list[int], needs: RoundNeeds, shelf: PictureShelf, dice: Random) -> list[int]:
    """Put a third in the place of a form, by a throw for each showing, and leave at least two that count."""
    thirds = sorted({third.form_id for third in needs.lore.thirds if shelf.holds(third.form_id)})
    share = min(max(needs.third_share, 0.0), MOST_THIRD_SHARE)
    thrown = [place for place in range(len(forms)) if dice.random() < share]
    mixed = list(forms)
    if thirds:
        for place in thrown[: max(0, len(forms) - LEAST_RATED)]:
            mixed[place] = dice.choice(thirds)
    return mixed


def _prompts_wanted(needs: RoundNeeds) -> int:
    """Prompts fade from two through one to none, and one comes back for a trait that was missed."""
    if needs.rounds_before < NEW_ROUNDS or needs.settled is Standing.UNMET or needs.missed_last:
        return 2
    return 1 if needs.settled not in SETTLED or needs.missed_trait else 0


@dataclass(slots=True)
class _Prompts:
    """The trait questions that a round still has to give, and those it has given."""

    needs: RoundNeeds
    order: tuple[TraitWorth, ...]
    left: int
    given: tuple[str, ...] = ()

    def find(self, candidate: Candidate) -> Ask | None:
        """Return the trait question for a picture of one of the pair, or None.

        A trait missed before comes first, then those that may be asked of either form, so that the question does not tell
        which form it is; then the one with most information left for this learner, else the order of telling. None is asked twice
        in a round while there are others; one that she hardly misreads any more is asked no longer.
        """
        lore = self.needs.lore
        other_id = lore.pair.other(candidate.form_id).id
        worths = [worth for worth in self.order if _may_prompt(worth, lore, candidate)] if self.left else []
        if not worths:
            return None
        chosen = min(worths, key=lambda worth: self._how_unwanted(worth, other_id)).trait
        self.left -= 1
        self.given = (*self.given, chosen.key)
        return trait_kind.make_ask(chosen, lore.chances[candidate.form_id][chosen.key], lore.chances[other_id][chosen.key])

    def _how_unwanted(self, worth: TraitWorth, other_id: int) -> tuple[int, bool, bool]:
        key = worth.trait.key
        one_sided = not _key_is_sure(worth, self.needs.lore, other_id)
        return (self.given.count(key), key != self.needs.missed_trait, one_sided)


def _may_prompt(worth: TraitWorth, lore: PairLore, candidate: Candidate) -> bool:
    visible = candidate.shows is None or worth.trait.key in candidate.shows
    return visible and _key_is_sure(worth, lore, candidate.form_id)


def _key_is_sure(worth: TraitWorth, lore: PairLore, form_id: int) -> bool:
    key, other_id = worth.trait.key, lore.pair.other(form_id).id
    return trait_kind.may_be_asked(worth.trait, lore.chances[form_id][key], lore.chances[other_id][key])


def _showing(candidate: Candidate, lore: PairLore, prompts: _Prompts, *, neither: bool) -> PlannedShowing:
    third = candidate.form_id not in (lore.pair.first.id, lore.pair.second.id)
    prompt = None if third else prompts.find(candidate)
    form_ask = form_kind.make_ask(lore.pair, candidate.form_id, neither=neither)
    return PlannedShowing(
        picture_id=candidate.picture_id,
        form_id=candidate.form_id,
        asks=(prompt, form_ask) if prompt else (form_ask,),
        first_sight=candidate.seen_at is None and not candidate.own,
        prompted=prompt is not None,
        third=third,
    )
