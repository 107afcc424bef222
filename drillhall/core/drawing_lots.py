"""Draws the picture of a day for an open question: the same for everybody, and not to be foreseen without the question's secret."""

from __future__ import annotations

import hmac
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class OnOffer:
    """A pair with the pictures of each of its forms that may be drawn; neither side is empty."""

    pair_id: int
    first: tuple[int, ...]
    second: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a day shows."""

    pair_id: int
    picture_id: int


def draw_for_day(offers: Sequence[OnOffer], *, seed: str, day: date, recent: Sequence[Drawn] = ()) -> Drawn | None:
    """Draw a pair, then one of its forms, then a picture of that form; None where nothing is on offer.

    Parameters
    ----------
    seed : the question's secret; whoever does not know it cannot tell which picture comes, nor which form a picture shows
    recent : what was drawn on the days before, the latest first; of those that may be drawn, the latest half is left out

    Source
    ------
    Thaler & Ravishankar (1998), Using name-based mappings to increase hit rates, IEEE/ACM Trans Networking 6:1: the highest hash
    wins, so that a picture that comes or goes changes as few days as can be. The hash is HMAC-SHA-256 (RFC 2104, FIPS 180-4).

    Examples
    --------
    >>> offers = [OnOffer(1, (10, 11), (12,))]
    >>> draw_for_day(offers, seed="a", day=date(2031, 3, 4)) == draw_for_day(offers, seed="a", day=date(2031, 3, 4))
    True
    """
    if not offers:
        return None
    by_pair = {offer.pair_id: offer for offer in offers}
    pair_id = _highest(_not_lately(list(by_pair), [one.pair_id for one in recent]), seed, f"{day} pair")
    sides = {0: by_pair[pair_id].first, 1: by_pair[pair_id].second}
    pictures = sides[_highest(sides, seed, f"{day} form")]
    return Drawn(pair_id, _highest(_not_lately(pictures, [one.picture_id for one in recent]), seed, f"{day} picture"))


def _not_lately(all_of_them: Sequence[int], recent: Sequence[int]) -> Sequence[int]:
    """Leave out the latest half of what may be drawn, so that nothing comes again soon."""
    lately = [one for one in dict.fromkeys(recent) if one in all_of_them][: len(all_of_them) // 2]
    return [one for one in all_of_them if one not in lately]


def _highest(among: Collection[int], seed: str, what: str) -> int:
    return max(among, key=lambda one: hmac.digest(seed.encode(), f"{what} {one}".encode(), "sha256"))
