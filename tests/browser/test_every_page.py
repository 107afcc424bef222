"""A walk of all pages, on a phone and a laptop, light and dark: nothing too wide, cut, too faint, or out of reach of anybody."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from drillhall.people import links
from tests import cast
from tests.browser import halls
from tests.browser.catalogue_visits import CATALOGUE_VISITS
from tests.browser.curating_visits import CURATING_VISITS
from tests.browser.field_test_visits import FIELD_TEST_VISITS
from tests.browser.group_visits import GROUP_VISITS
from tests.browser.help_visits import HELP_VISITS
from tests.browser.leader_visits import LEADER_VISITS
from tests.browser.learner_visits import LEARNER_VISITS
from tests.browser.looking import Watch, axe_source
from tests.browser.mail_visits import MAIL_VISITS
from tests.browser.open_visits import OPEN_VISITS
from tests.browser.picture_visits import PICTURE_VISITS
from tests.browser.privacy_visits import PRIVACY_VISITS
from tests.browser.roster_visits import ROSTER_VISITS
from tests.browser.season_visits import SEASON_VISITS
from tests.browser.second_step_visits import SECOND_STEP_VISITS
from tests.browser.visiting import Values, Visit, send
from tests.browser.wall_visits import WALL_VISITS
from tests.browser.weak_spot_visits import WEAK_SPOT_VISITS
from tests.hall import Hall, build_bare_hall, open_hall

SIZES = {"phone": {"width": 360, "height": 740}, "laptop": {"width": 1280, "height": 800}}
NOT_PAGES = {
    "static": "files of the program, not pages",
    "account.csrf": "a token for the player, as JSON",
    "offline.worker": "a script of the browser's own, not a page",
    "offline.manifest": "a table for the device's list of apps",
    "offline.icon": "the bytes of an icon",
    "health.alive": "a word for programs that watch the hall",
    "health.ready": "a word for programs that watch the hall",
    "health.metrics": "figures for programs that watch the hall",
    "pictures.the_picture": "the bytes of one picture",
    "sittings.picture": "the bytes of one held-out picture, in a sitting alone",
    "teacher.given_items": "a zip to keep, not a page",
    "open.feed": "a feed for readers of feeds, not a page",
    "groups.calendar_feed": "a calendar for calendar programs, not a page",
    "open.picture": "the bytes of an open question's picture",
    "pictures.preview": "the bytes of one picture, altered",
    "pictures.preview_shape": "the bytes of one shape",
    "pictures.regions": "a table to keep, not a page",
    "pictures.annotations": "a JSON-LD file to keep, not a page",
    "pictures.original": "a file to keep, not a page",
    **dict.fromkeys(("privacy.everything", "privacy.pupil_everything", "privacy.account_everything"), "a zip to keep, not a page"),
    "catalogue.set_zip": "a zip to keep, not a page",
    "catalogue.set_items": "a zip to keep, not a page",
    "catalogue.export": "a zip to keep, not a page",
    "curating.credited_csv": "a table to keep, not a page",
    "learner.packet": "a drill for the player, as JSON",
}
"""GET endpoints that show nothing, each with its reason."""


def a_question(kind: str, *, right: bool | None) -> Callable[[Hall], Values]:
    """Return how to find the address of a question of a kind: answered right, answered wrong, or (None) the next one."""

    def find(hall: Hall) -> Values:
        for showing, question in halls.asked(halls.the_packet(hall)):
            given = showing.given.get(question.place)
            if question.kind == kind and given is not None and (given.said == question.key) is right:
                return {"showing": showing.id, "ask": question.place}
        raise LookupError(f"the drill holds no question about a {kind} answered like that")

    return find


def first_round(hall: Hall) -> Values:
    """Return the address at which the first pair has been met."""
    return {"met": halls.the_packet(hall).rounds[0].id}


def first_pair(hall: Hall) -> Values:
    """Return the address of the first pair of the drill."""
    return {"pair_id": halls.the_packet(hall).rounds[0].pair.id}


def upload_a_faulty_one(page: Page) -> None:
    """Choose a zip with faults, and send it."""
    content = halls.a_zip("faulty", faulty=True)
    page.set_input_files("input[type=file]", {"name": "faulty.zip", "mimeType": "application/zip", "buffer": content})
    send(page)


def play(page: Page) -> None:
    """Wait until the player has taken the page over and fetched what it wants."""
    page.wait_for_selector("[data-playing]")
    page.wait_for_load_state("networkidle")


VISITS = (
    *PICTURE_VISITS,
    *GROUP_VISITS,
    *LEADER_VISITS,
    *FIELD_TEST_VISITS,
    *ROSTER_VISITS,
    *LEARNER_VISITS,
    *CURATING_VISITS,
    *CATALOGUE_VISITS,
    *WALL_VISITS,
    *OPEN_VISITS,
    *WEAK_SPOT_VISITS,
    *HELP_VISITS,
    *MAIL_VISITS,
    *SEASON_VISITS,
    *PRIVACY_VISITS,
    *SECOND_STEP_VISITS,
    Visit("account.first_run", state="bare", where=lambda hall: {"token": halls.a_link(hall, links.FIRST_RUN)}),
    Visit(
        "account.first_run",
        "sent empty",
        state="bare",
        where=lambda hall: {"token": halls.a_link(hall, links.FIRST_RUN)},
        then=send,
        expected=422,
    ),
    Visit("offline.offline", "with nothing on the device"),
    Visit("account.sign_in"),
    Visit("account.sign_in", "in a hall without a keeper", state="bare"),
    Visit("account.sign_in", "sent empty", then=send, expected=422),
    Visit("account.sign_up", state="open_to_all"),
    Visit("account.join", where=lambda hall: {"token": halls.an_invitation(hall)}),
    Visit("account.join", "sent empty", where=lambda hall: {"token": halls.an_invitation(hall)}, then=send, expected=422),
    Visit("account.join", "with a link that is over", where=lambda _: {"token": "over"}, expected=404),
    Visit("account.step_in", state="demo", where=lambda hall: {"token": halls.a_link(hall, links.STEP_IN, cast.LEARNER)}),
    Visit("account.settings", who=cast.LEARNER),
    Visit("account.passphrase", who=cast.LEARNER),
    Visit("account.passphrase", "sent empty", who=cast.LEARNER, then=send, expected=422),
    Visit("account.devices", who=cast.LEARNER),
    Visit("keeper.state", who=cast.KEEPER),
    Visit("keeper.audit_log", who=cast.KEEPER),
    Visit("keeper.state", "for somebody else", who=cast.LEARNER, expected=404),
    Visit("keeper.people", who=cast.KEEPER),
    Visit("keeper.invite", who=cast.KEEPER),
    Visit("catalogue.catalogues", "none yet", who=cast.STRANGER),
    Visit("catalogue.catalogues", "one", who=cast.KEEPER),
    Visit("catalogue.catalogues", "sent empty", who=cast.LEARNER, then=send, expected=422),
    Visit("catalogue.catalogues", "after a faulty upload", who=cast.LEARNER, then=upload_a_faulty_one, expected=422),
    Visit("catalogue.staged", "a new one", who=cast.LEARNER, where=lambda hall: {"token": halls.an_upload(hall, cast.LEARNER, "another")}),
    Visit(
        "catalogue.staged",
        "a known one",
        who=cast.KEEPER,
        where=lambda hall: {"token": halls.an_upload(hall, cast.KEEPER, "small-estuary")},
    ),
    Visit("learner.today", "before the first pair", who=cast.LEARNER),
    Visit("learner.today", "with nothing taken", who=cast.STRANGER),
    Visit("learner.today", "within a drill", who=cast.LEARNER, state="a_drill_within"),
    Visit("learner.today", "after a drill", who=cast.LEARNER, state="a_drill_ended"),
    Visit("learner.today", "a week later", who=cast.LEARNER, state="a_week_later"),
    Visit("learner.shelf", who=cast.LEARNER),
    Visit("learner.shelf", "with nothing taken", who=cast.STRANGER),
    Visit("learner.meet", who=cast.LEARNER, state="a_drill_begun", where=first_pair),
    Visit("learner.drill", "a pair to meet", who=cast.LEARNER, state="a_drill_begun", then=play),
    Visit("learner.drill", "a pair to meet, without scripts", who=cast.LEARNER, state="a_drill_begun", scripts=False),
    Visit("learner.drill", "a form asked", who=cast.LEARNER, state="a_form_asked", then=play),
    Visit("learner.drill", "a form asked, without scripts", who=cast.LEARNER, state="a_form_asked", scripts=False),
    Visit("learner.drill", "a trait asked", who=cast.LEARNER, state="a_drill_begun", where=first_round, then=play),
    Visit("learner.drill", "a trait asked, without scripts", who=cast.LEARNER, state="a_drill_begun", where=first_round, scripts=False),
    Visit(
        "learner.drill",
        "a trait asked, with the hint",
        who=cast.LEARNER,
        state="a_drill_begun",
        where=lambda hall: {**first_round(hall), "hint": 1},
        scripts=False,
    ),
    *(
        Visit(
            "learner.drill",
            f"{kind} {'right' if right else 'missed'}{', without scripts' if not scripts else ''}",
            who=cast.LEARNER,
            state="a_drill_within",
            where=a_question(kind, right=right),
            then=play if scripts else None,
            scripts=scripts,
        )
        for kind in ("form", "trait")
        for right in (True, False)
        for scripts in (True, False)
    ),
    Visit("learner.drill_end", who=cast.LEARNER, state="a_drill_ended"),
    Visit("learner.standing", "before the first drill", who=cast.STRANGER),
    Visit("learner.standing", "after a drill", who=cast.LEARNER, state="a_drill_ended"),
    Visit("learner.standing", "a week later", who=cast.LEARNER, state="a_week_later"),
)


PAGES_KEPT = 8
"""So many pages stay open: a page that is gone to again costs half of what a new one does, and each open one some memory."""


class Halls:
    """The halls of the walk, each opened when first asked for, and the browsers that look at them."""

    def __init__(self, stack: ExitStack, built: Path, make_folder: Callable[[str], Path]) -> None:
        self._stack, self._built, self._make_folder = stack, built, make_folder
        self._halls: dict[str, Hall] = {}
        self._contexts: dict[tuple[object, ...], BrowserContext] = {}
        self._watched: dict[tuple[object, ...], Watch] = {}

    def hall(self, state: str) -> Hall:
        """Return the hall in a state."""
        if state not in self._halls:
            folder = self._make_folder(state)
            built = build_bare_hall(folder / "built") if state == "bare" else self._built
            hall = self._stack.enter_context(open_hall(built, folder / "hall", demo=state == "demo"))
            halls.STATES.get(state, halls.nothing_yet)(hall)
            self._halls[state] = hall
        return self._halls[state]

    @contextmanager
    def watch(self, browser: Browser, visit: Visit, size: str) -> Iterator[Watch]:
        """Yield a watched page on the device of whoever looks: the one of her last visit, unless that ended in a fault or long ago."""
        key = (visit.state, visit.who, visit.scripts, size)
        watch = self._watched.pop(key, None) or Watch(self._context(key, browser, visit, size).new_page())
        try:
            yield watch
        except BaseException:
            watch.page.close()
            raise
        self._watched[key] = watch
        while len(self._watched) > PAGES_KEPT:
            self._watched.pop(next(iter(self._watched))).page.close()

    def _context(self, key: tuple[object, ...], browser: Browser, visit: Visit, size: str) -> BrowserContext:
        if key not in self._contexts:
            context = self.hall(visit.state).context(browser, visit.who, viewport=SIZES[size], service_workers="block")
            self._stack.callback(context.close)
            context.add_init_script(axe_source())
            if not visit.scripts:
                # The page's own scripts never arrive; ours, which look at it, still run.
                context.route("**/*.js", lambda route: route.fulfill(body="", content_type="text/javascript"))
            self._contexts[key] = context
        return self._contexts[key]


@pytest.fixture(scope="module")
def opened(built_hall: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Halls]:
    """The halls of the walk."""
    with ExitStack() as stack:
        yield Halls(stack, built_hall, tmp_path_factory.mktemp)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("visit", sorted(VISITS, key=lambda visit: visit.state), ids=lambda visit: visit.name)
def test_the_page_is_whole(opened: Halls, browser: Browser, visit: Visit, size: str) -> None:
    hall = opened.hall(visit.state)
    with hall.app.test_request_context():
        address = hall.address + hall.app.url_for(visit.endpoint, **visit.where(hall))
    with opened.watch(browser, visit, size) as watch:
        found = watch.visit(address, expected=visit.expected, then=visit.then)
        assert "\n".join(found) == ""


def test_every_page_is_in_the_walk(hall: Hall) -> None:
    gets = {rule.endpoint for rule in hall.app.url_map.iter_rules() if "GET" in (rule.methods or ())}
    assert gets - {visit.endpoint for visit in VISITS} == set(NOT_PAGES)


def test_the_walk_visits_no_page_twice_alike() -> None:
    names = [visit.name for visit in VISITS]
    assert len(names) == len(set(names))


def test_every_reason_for_leaving_a_page_out_is_given() -> None:
    assert all(len(reason.split()) >= 4 for reason in NOT_PAGES.values())
