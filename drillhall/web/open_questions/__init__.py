"""Open questions: for anybody with the link, and for those who ask them."""

from drillhall.web.open_questions import asking, feeding, leading, mailing
from drillhall.web.open_questions.room import blueprint

__all__ = ["asking", "blueprint", "feeding", "leading", "mailing"]
