"""The learner's rooms: today, the drill, the pairs, the shelf and where she stands."""

from drillhall.web.learner import drill, in_words, looking_ahead, own_numbers, pages, rarities, trying, working_out
from drillhall.web.learner.room import blueprint

__all__ = ["blueprint", "drill", "in_words", "looking_ahead", "own_numbers", "pages", "rarities", "trying", "working_out"]
