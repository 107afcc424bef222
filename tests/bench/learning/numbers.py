"""The numbers of the simulated world and learner, frozen: a change of one is a commit of its own, with the table before and after.

None of them comes from the scheduler. They were set once so that a random order of 60 pictures a day lands near 81 %; the law of
forgetting is a power of time (Wixted and Ebbesen 1991, from memory), where the scheduler has one of its own. An effect may be added
with a published source alone, and to all policies alike.
"""

from __future__ import annotations

from dataclasses import dataclass

DAYS = 56
TEST_DAY = 56
OUTING_DAY = 27
PICTURES_A_FORM = 20
MINUTES_A_PICTURE = 1 / 6
MINUTES_A_DAY = 1440.0
FORGETTING_MINUTES = 5.0


@dataclass(frozen=True)
class WorldNumbers:
    """What is drawn for a club: how far forms lie apart, how often a mark can be seen, how forms scatter."""

    marked_apart: tuple[float, float] = (3.0, 4.4)
    plain_apart: tuple[float, float] = (1.5, 2.8)
    mark_factor: tuple[float, float] = (0.7, 1.3)
    visible: tuple[float, float] = (0.70, 0.97)
    scatter: tuple[float, float] = (0.85, 1.15)
    useless_sd: float = 0.25
    deceptive: float = 0.5
    pose_sd: float = 1.2


@dataclass(frozen=True)
class LearnerNumbers:
    """An exemplar learner whose traces fade (Nosofsky 1986; Pavlik and Anderson 2005 for the effect of spacing).

    A prompt draws attention to the trait it asks for (Miyatsu, Gouravajhala, Nosofsky and McDaniel 2019, J Exp Psychol Learn Mem Cogn
    45:1, from memory), as strongly as what is explained after a miss; it plays a part only in rows that say so.
    """

    similarity: float = 3.0
    fading: float = 0.22
    spacing: float = 0.20
    background: float = 0.05
    choice: float = 2.5
    slip: float = 0.035
    moved_by_a_miss: float = 0.05
    moved_by_a_hit: float = 0.02
    moved_by_a_prompt: float = 0.05
    attention_lost_a_day: float = 0.012
    days_missed: float = 0.25
    salience: tuple[float, ...] = (0.22, 0.18, 0.07, 0.07, 0.07, 0.15, 0.14, 0.10)
    known_trace: float = 0.3
    known_attention: float = 0.9
    certain_from: float = 0.85
    possible_below: float = 0.65


WORLD = WorldNumbers()
LEARNER = LearnerNumbers()
