"""The pages of pictures that the walk visits."""

from __future__ import annotations

from playwright.sync_api import Page

from tests import cast
from tests.browser.sent_pictures import public_id_of
from tests.browser.visiting import Visit, send


def send_all(page: Page) -> None:
    """Choose no picture, and say nothing of it."""
    with page.expect_navigation():
        page.get_by_role("button", name="Say it of those chosen").click()


PICTURE_VISITS = (
    Visit("pictures.my_pictures", "none yet", who=cast.STRANGER),
    Visit("pictures.my_pictures", "many", who=cast.KEEPER),
    Visit("pictures.my_pictures", "sent empty", who=cast.LEARNER, then=send, expected=422, scripts=False),
    Visit("pictures.my_pictures", "some wait", who=cast.LEARNER, state="pictures_sent"),
    Visit("pictures.my_pictures", "withdrawn", who=cast.LEARNER, state="pictures_sent", where=lambda _: {"show": "withdrawn"}),
    Visit("pictures.picture", who=cast.LEARNER, state="pictures_sent", where=lambda _: {"public_id": public_id_of(1)}),
    Visit("pictures.picture", "withdrawn", who=cast.LEARNER, state="pictures_sent", where=lambda _: {"public_id": public_id_of(3)}),
    Visit("pictures.picture", "somebody else's", who=cast.STRANGER, where=lambda _: {"public_id": public_id_of(1)}, expected=404),
    Visit("pictures.describe", "none yet", who=cast.STRANGER),
    Visit("pictures.describe", "some wait", who=cast.LEARNER, state="pictures_sent"),
    Visit("pictures.describe", "without scripts", who=cast.LEARNER, state="pictures_sent", scripts=False),
    Visit("pictures.describe", "sent empty", who=cast.LEARNER, state="pictures_sent", then=send_all, expected=422),
)
