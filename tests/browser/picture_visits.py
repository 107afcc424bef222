"""The pages of pictures that the walk visits."""

from __future__ import annotations

from tests import cast
from tests.browser.visiting import Visit, send

PICTURE_VISITS = (
    Visit("pictures.my_pictures", "none yet", who=cast.STRANGER),
    Visit("pictures.my_pictures", "many", who=cast.KEEPER),
    Visit("pictures.my_pictures", "sent empty", who=cast.LEARNER, then=send, expected=422),
)
