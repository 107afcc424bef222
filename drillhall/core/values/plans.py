"""What a drill is planned from and what is planned: pairs, pictures, rounds, showings and questions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from drillhall.core.clusters import InCluster
from drillhall.core.values.answers import Memory, Misses, Standing
from drillhall.core.values.forms import PairLore, Rendition


class Why(StrEnum):
    """Why a round is in today's drill."""

    NEW = "new"
    WEAK = "weak"
    DUE = "due"
    OUTING = "outing"
    EARLY = "early"
    AGAIN = "again"


@dataclass(frozen=True, slots=True)
class Candidate:
    """A picture that a round may show: what the planner must know of it.

    `seen_at` is the learner's last sight of it anywhere in the hall, or None; `own` says that it is her own picture,
    which is never first sight to her; `shows` are the traits that can be seen on it, or None where nobody has said;
    `renditions` are those that are kept of it; `scene` is by what it is known to be of one series with another.
    """

    picture_id: int
    form_id: int
    orientation: str = ""
    setting: str = ""
    pose: str = ""
    distance: str = ""
    typical: bool = True
    seen_at: datetime | None = None
    own: bool = False
    shows: frozenset[str] | None = None
    may_alter: bool = False
    renditions: frozenset[Rendition] = frozenset()
    scene: InCluster | None = None


@dataclass(frozen=True, slots=True)
class PairToday:
    """What `plan_drill` must know of one pair that a learner may drill.

    stage: order of stage and place in it, the easiest first; memory None: never rated; met: a round of it was begun;
    due_day None for a pair never rated; mixup_rate: her estimated chance of a mix-up over both directions;
    recent_pictures: pictures of this pair lately, each drill since counting 0.93 of the next;
    rounds_today: rounds already given today; after: pairs that should be met before this one; own: she has sent pictures of both forms;
    pictures: of the first form and of the second, how many she may be shown that no round of the pair has shown today, or at all once
    no pair has any left; None: without end.
    """

    pair_id: int
    first_form_id: int
    second_form_id: int
    stage: tuple[int, int] = (0, 0)
    memory: Memory | None = None
    met: bool = False
    due_day: date | None = None
    mixup_rate: float = 0.5
    recent_pictures: float = 0.0
    rounds_today: int = 0
    after: frozenset[int] = frozenset()
    own: bool = False
    pictures: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class DrillWish:
    """What the learner has set.

    minutes: time to give; seconds_a_showing: her median; new_a_day: 0 to 10; round_length: pictures a round (2 to 6), None for the default.
    """

    minutes: float = 10.0
    seconds_a_showing: float = 12.0
    new_a_day: int = 5
    round_length: int | None = None


@dataclass(frozen=True, slots=True)
class Outing:
    """An assignment with a date: its pairs claim a larger share of the drill until that day, and all are met in its first third.

    day: the outing's local day; since: the local day on which the assignment reached her; target_recall: asked for until then, or None
    where her own stands.
    """

    day: date
    since: date
    pair_ids: frozenset[int]
    target_recall: float | None = None


@dataclass(frozen=True, slots=True)
class PlannedRound:
    """One round of today's drill: its pair, how many showings, and why it is here."""

    pair_id: int
    showings: int
    why: Why


@dataclass(frozen=True, slots=True)
class RoundNeeds:
    """What `build_round` must know beside the candidates.

    rounds_before: rounds of this pair already begun; first_share: the first form's share of her smoothed misses (0 to 1);
    settled: the standing as it was after the last rated round; missed_last: whether that round was missed;
    missed_trait: the trait whose prompt she last missed on this pair, or empty; neither_allowed: the leader's switch;
    third_share: share of thirds among showings where *neither* is offered (0 to 0.10);
    marks_first: pictures on which what tells the pair can be seen come before those on which it is hidden;
    trait_misses: trait key to how often she misread it when prompted, decayed; a trait that is absent was never asked.
    """

    lore: PairLore
    showings: int
    rounds_before: int = 0
    first_share: float = 0.5
    settled: Standing = Standing.UNMET
    missed_last: bool = False
    missed_trait: str = ""
    neither_allowed: bool = True
    third_share: float = 0.05
    marks_first: bool = True
    trait_misses: Mapping[str, Misses] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Ask:
    """One question of a showing: its kind (a key of KINDS), what may be said, and the key.

    kind "form": choices are form ids and maybe NEITHER, as text; kind "trait": `trait` names it, choices are its state keys; kind "beside":
    choices are the places "1" and "2" of two pictures.
    """

    kind: str
    choices: tuple[str, ...]
    key: str
    trait: str = ""


@dataclass(frozen=True, slots=True)
class PlannedShowing:
    """One picture put before a learner, with its questions in order.

    form_id is what the picture shows; for a third the right answer is NEITHER, and nothing of it is rated. beside_id is a picture
    of the pair's other form, where two stand side by side.
    """

    picture_id: int
    form_id: int
    asks: tuple[Ask, ...]
    rendition: Rendition = Rendition.AS_TAKEN
    first_sight: bool = False
    prompted: bool = False
    third: bool = False
    beside_id: int | None = None
