"""Plans a day's drill and builds its rounds: which pairs, in what order and why; which form, which picture, which questions."""

from drillhall.core.rounds.build import build_round
from drillhall.core.rounds.plan import plan_drill

__all__ = ["build_round", "plan_drill"]
