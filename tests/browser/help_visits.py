"""The pages that help, of the walk of all pages: how the drill decides, the parts of a bird, and the hall's own parts."""

from __future__ import annotations

from tests import cast
from tests.browser.visiting import Visit

HELP_VISITS = (
    Visit("help.how_the_drill_decides"),
    Visit("help.how_the_drill_decides", "with one's own wishes", who=cast.LEARNER),
    Visit("help.parts_of_a_bird"),
    Visit("specimens.parts", who=cast.KEEPER),
    Visit("specimens.parts", "not the keeper", who=cast.LEARNER, expected=404),
)
