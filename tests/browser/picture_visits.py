"""The pages of pictures that the walk visits."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page

from tests import cast
from tests.browser.sent_pictures import a_photograph, public_id_of
from tests.browser.visiting import Values, Visit, send
from tests.hall import Hall


def send_all(page: Page) -> None:
    """Choose no picture, and say nothing of it."""
    with page.expect_navigation():
        page.get_by_role("button", name="Say it of those chosen").click()


def give_away(page: Page) -> None:
    """Choose a licence that cannot be taken back, without having said that one knows."""
    page.get_by_label("Anybody may do anything with it").check()
    with page.expect_navigation():
        page.get_by_role("button", name="Change its rights").click()


def say_nothing_of_the_permission(page: Page) -> None:
    """Choose that somebody else lets her use it, and say neither who nor when."""
    page.get_by_text("It is otherwise").click()
    page.get_by_label("Somebody else made it and lets you use it").check()
    with page.expect_navigation():
        page.get_by_role("button", name="Change its rights").click()


def choose_only(page: Page) -> None:
    """Choose two files, and tick nothing: they wait."""
    page.set_input_files("#file", [{"name": f"IMG_{n}.jpg", "mimeType": "image/jpeg", "buffer": a_photograph(n)} for n in (1, 2)])
    page.wait_for_selector("[data-state=waiting]")


def hers(number: int) -> Callable[[Hall], Values]:
    """Return how to find the address of the so-manieth picture that was sent."""
    return lambda _: {"public_id": public_id_of(number)}


def send_beyond(page: Page) -> None:
    """Type a rectangle that reaches beyond the picture, and send it."""
    page.fill("#left", "80")
    page.fill("#width", "60")
    with page.expect_navigation():
        page.get_by_role("button", name="Keep this").click()


def from_afar(_hall: Hall) -> Values:
    """Give the address of a picture seen from afar."""
    return {"public_id": public_id_of(1), "distance": 100, "magnification": 8, "visibility": 5, "length": 190}


PICTURE_VISITS = (
    Visit("pictures.my_pictures", "none yet", who=cast.STRANGER),
    Visit("pictures.my_pictures", "many", who=cast.KEEPER),
    Visit("pictures.my_pictures", "sent empty", who=cast.LEARNER, then=send, expected=422, scripts=False),
    Visit("pictures.my_pictures", "chosen, not yet sent", who=cast.LEARNER, then=choose_only),
    Visit("pictures.my_pictures", "some wait", who=cast.LEARNER, state="pictures_sent"),
    Visit("pictures.my_pictures", "withdrawn", who=cast.LEARNER, state="pictures_sent", where=lambda _: {"show": "withdrawn"}),
    Visit("pictures.picture", who=cast.LEARNER, state="pictures_sent", where=hers(1)),
    Visit("pictures.picture", "withdrawn", who=cast.LEARNER, state="pictures_sent", where=hers(3)),
    Visit("pictures.picture", "somebody else's", who=cast.STRANGER, where=hers(1), expected=404),
    Visit("pictures.describe", "none yet", who=cast.STRANGER),
    Visit("pictures.describe", "some wait", who=cast.LEARNER, state="pictures_sent"),
    Visit("pictures.describe", "without scripts", who=cast.LEARNER, state="pictures_sent", scripts=False),
    Visit("pictures.describe", "sent empty", who=cast.LEARNER, state="pictures_sent", then=send_all, expected=422),
    Visit("pictures.rights", who=cast.LEARNER, state="pictures_sent", where=hers(1)),
    Visit(
        "pictures.rights",
        "what comes of it",
        who=cast.LEARNER,
        state="pictures_sent",
        where=hers(1),
        then=give_away,
        expected=422,
    ),
    Visit(
        "pictures.rights",
        "sent empty",
        who=cast.LEARNER,
        state="pictures_sent",
        where=hers(1),
        then=say_nothing_of_the_permission,
        expected=422,
    ),
    Visit("pictures.rights", "somebody else's", who=cast.STRANGER, where=hers(1), expected=404),
    Visit("pictures.credits", who=cast.LEARNER, where=lambda _: {"pair_set_id": 1}),
    Visit("pictures.credits", "no such set", who=cast.LEARNER, where=lambda _: {"pair_set_id": 987654}, expected=404),
    Visit("pictures.framing", who=cast.LEARNER, state="pictures_sent", where=hers(1)),
    Visit(
        "pictures.framing",
        "without scripts",
        who=cast.LEARNER,
        state="pictures_sent",
        where=hers(1),
        scripts=False,
    ),
    Visit(
        "pictures.framing",
        "sent beyond the picture",
        who=cast.LEARNER,
        state="pictures_sent",
        where=hers(1),
        then=send_beyond,
        expected=422,
    ),
    Visit("pictures.marking", who=cast.LEARNER, state="pictures_sent", where=hers(1)),
    Visit("pictures.marking", "of one of two forms", who=cast.LEARNER, state="pictures_sent", where=hers(2)),
    Visit(
        "pictures.marking",
        "sent beyond the picture",
        who=cast.LEARNER,
        state="pictures_sent",
        where=hers(1),
        then=send_beyond,
        expected=422,
    ),
    Visit("pictures.renditions", who=cast.LEARNER, state="pictures_sent", where=hers(1)),
    Visit("pictures.renditions", "at a distance", who=cast.LEARNER, state="pictures_sent", where=from_afar),
)
