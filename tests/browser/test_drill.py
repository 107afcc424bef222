"""The drill in a real browser: by finger and by key, with the network gone, the tab closed, or no script at all."""

from __future__ import annotations

import re
import uuid
from collections import Counter
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Route, expect
from sqlalchemy import select

from drillhall.people import accounts
from drillhall.people.person import Preferences
from drillhall.practice import drilling, playing
from drillhall.practice.answering import NewAnswer, store_answers
from drillhall.practice.packets import Question, ShowingView
from drillhall.store.models.practice import AnswerRow
from tests.browser.looking import look_at
from tests.cast import LEARNER, STRANGER
from tests.hall import Hall

PHONE = {"width": 360, "height": 740}
LAPTOP = {"width": 1280, "height": 860}
QUEUED = """new Promise(done => {
  const opening = indexedDB.open('drillhall', 1);
  opening.onsuccess = () => {
    const counting = opening.result.transaction('answers').objectStore('answers').count();
    counting.onsuccess = () => { opening.result.close(); done(counting.result); };
  };
})"""
ASLEEP_MS = 350  # a little more than the button that goes on stays deaf


@pytest.fixture
def steady(hall: Hall) -> None:
    """Let the learner answer rightly for a week, so that *neither* is offered."""
    person = hall.people[LEARNER]
    for _ in range(4):
        with hall.store.work() as db:
            drill_id = drilling.start_drill(db, person.id, drill_id=str(uuid.uuid4()), at=hall.clock.now)
            packet = playing.the_packet(db, person.id, drill_id, now=hall.clock.now)
            asked_of = [(one, question) for view in packet.rounds for one in view.showings for question in one.questions]
            stored = store_answers(db, person.id, [right(hall, one, question) for one, question in asked_of], received_at=hall.clock.now)
        assert not stored.refused
        hall.clock.pass_by(days=2)


@pytest.fixture
def context(hall: Hall, browser: Browser) -> Iterator[BrowserContext]:
    context = hall.context(browser, LEARNER, viewport=PHONE, has_touch=True)
    yield context
    context.close()


@pytest.fixture
def page(context: BrowserContext) -> Iterator[Page]:
    """A page that fails its test when the browser complains of anything but a lost connection."""
    page = context.new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    yield page
    expected = ("status of 404", "ERR_INTERNET_DISCONNECTED", "ERR_CONNECTION_RESET", "status of 401")
    assert [one for one in complaints if not any(sign in one for sign in expected)] == []


def start(page: Page) -> None:
    """Begin today's drill and look at the first pair."""
    page.goto("/")
    page.get_by_role("button", name=re.compile("Start today's drill")).click()
    page.wait_for_selector("[data-playing]")


def begin_round(page: Page) -> None:
    """Leave the pair that is met, if one is, and wait for a question."""
    page.locator("[data-begin]:visible, [data-panel=asked]:visible").first.wait_for()
    if page.locator("[data-begin]").is_visible():
        page.locator("[data-begin]").click()
    asked(page).wait_for()


def asked(page: Page) -> Locator:
    return page.locator("[data-panel=asked]:visible")


def told(page: Page) -> Locator:
    return page.locator("[data-panel=answered]:visible")


def answer(page: Page, number: int = 0) -> str:
    """Tap one answer and return what it sends."""
    button = asked(page).locator("button[name=answer]:visible").nth(number)
    value = button.get_attribute("value") or ""
    button.click()
    told(page).wait_for()
    return value


def go_on(page: Page) -> None:
    page.wait_for_timeout(ASLEEP_MS)
    told(page).locator("[data-next]").click()


def answers(hall: Hall) -> list[AnswerRow]:
    with hall.store.look() as db:
        return list(db.scalars(select(AnswerRow).order_by(AnswerRow.id)))


def wait_for_answers(hall: Hall, page: Page, count: int) -> list[AnswerRow]:
    for _ in range(100):
        if len(found := answers(hall)) >= count:
            return found
        page.wait_for_timeout(50)
    raise AssertionError(f"{len(answers(hall))} answers of {count} arrived")


def stocked(page: Page) -> None:
    """Wait until every picture of the drill is on the device."""
    page.wait_for_load_state("networkidle")


def here(page: Page) -> tuple[str | None, str | None]:
    box = page.locator("[data-picture]")
    return box.get_attribute("data-showing"), box.get_attribute("data-ask")


def moved_on(page: Page, place: tuple[str | None, str | None]) -> None:
    """Wait until the page shows something other than that question: the next one, a pair to meet, or the end."""
    page.wait_for_function(
        """place => {
          const box = document.querySelector('[data-picture]'), meets = document.querySelector('[data-begin]');
          return !box || meets?.checkVisibility() || String([box.dataset.showing, box.dataset.ask]) !== place;
        }""",
        arg=",".join(str(one) for one in place),
    )


def places(page: Page) -> dict[str, tuple[float, ...]]:
    """Return where the picture, the question and the names stand."""
    found: dict[str, tuple[float, ...]] = {}
    for name in ("[data-picture]", "#shown", ".panel h1", ".panel .form-name"):
        for number, one in enumerate(page.locator(name).all()):
            box = one.bounding_box()
            if box and name == ".panel h1":
                found[name] = (box["x"], box["y"])
            elif box:
                found[f"{name} {number}"] = (box["x"], box["y"], box["width"], box["height"])
    return found


def small_targets(page: Page) -> list[str]:
    """Return what can be tapped in the drill and is under 44 px either way (WCAG 2.2, 2.5.5, which excepts links in text)."""
    small = """boxes => boxes.filter(one => one.checkVisibility() && getComputedStyle(one).pointerEvents !== 'none')
      .map(one => [one.textContent.trim(), one.getBoundingClientRect()])
      .filter(([, box]) => box.width < 44 || box.height < 44).map(([words, box]) => `${words}: ${box.width} x ${box.height}`)"""
    found: list[str] = page.locator("main a:not(.credit a), main button, main summary, main label").evaluate_all(small)
    return found


def words(panel: Locator) -> str:
    return " ".join(panel.inner_text().split())


def prefer(hall: Hall, **wishes: object) -> None:
    """Set what the learner prefers."""
    with hall.store.work() as db:
        accounts.set_preferences(db, hall.people[LEARNER], Preferences(zone=LEARNER.zone, **wishes), at=hall.clock.now)  # type: ignore[arg-type]


def right(hall: Hall, showing: ShowingView, question: Question) -> NewAnswer:
    sure = "certain" if question.kind == "form" else None
    return NewAnswer(str(uuid.uuid4()), showing.id, question.place, question.key, sure, 4.0, False, hall.clock.now)


def test_a_learner_reaches_an_explained_answer(hall: Hall, page: Page) -> None:
    start(page)
    expect(page.locator("[data-meet] h1")).to_be_visible()
    begin_round(page)
    said = answer(page)
    expect(told(page).locator("h1")).to_have_text(re.compile("^(Right|Missed)"))
    assert told(page).locator(".credit").inner_text()
    [row] = wait_for_answers(hall, page, 1)
    assert f"{row.said}:{row.sure or ''}" == said
    assert row.id[14] == "7"  # a UUID of version 7, RFC 9562
    assert 0 <= row.seconds < 60


def test_every_answer_tells_what_decides_with_its_mark_and_both_forms(hall: Hall, page: Page) -> None:
    start(page)
    begin_round(page)
    while asked(page).locator(".ladder").count() == 0:
        answer(page)
        go_on(page)
        begin_round(page)
    before = page.locator("#shown").get_attribute("alt")
    assert "Fiddler" not in (before or "")
    answer(page)
    expect(told(page)).to_contain_text("Decides: bill, ringed.")
    expect(page.locator("[data-picture] .ring")).to_be_visible()
    expect(told(page).locator("svg.closeup")).to_have_count(2)
    assert "Fiddler" in (page.locator("#shown").get_attribute("alt") or "")
    assert "Fiddler" in page.locator("[data-status]").inner_text()


def test_a_whole_drill_by_keys_alone_takes_one_key_an_answer(hall: Hall, page: Page) -> None:
    prefer(hall, minutes_a_day=3)
    start(page)
    for turn in range(200):
        if page.locator("[data-begin]").is_visible():
            page.locator("[data-begin]").focus()
            page.keyboard.press("Enter")
        asked(page).wait_for()
        place = here(page)
        page.keyboard.press("KeyS" if turn % 2 else "KeyL")
        expect(told(page).locator("[data-next]")).to_be_focused()
        page.wait_for_timeout(ASLEEP_MS)
        page.keyboard.press("Enter")
        moved_on(page, place)
        if "/drill/end" in page.url:
            break
    assert "/drill/end" in page.url
    with hall.store.look() as db:
        drill_id = playing.find_latest_drill(db, hall.people[LEARNER].id)
        assert drill_id
        assert drilling.unanswered(db, drill_id) == 0


def test_neither_takes_two_keys(hall: Hall, steady: None, page: Page) -> None:
    known = {row.id for row in answers(hall)}
    start(page)
    begin_round(page)
    page.locator(".panel").focus()
    page.keyboard.press("KeyN")
    expect(page.locator(".neither .row")).to_be_visible()
    page.keyboard.press("KeyD")
    told(page).wait_for()
    expect(told(page).locator(".across")).to_contain_text("Neither of these; said probable")
    rows = wait_for_answers(hall, page, len(known) + 1)
    assert [row.said for row in rows if row.id not in known] == ["0"]


def test_keys_do_nothing_outside_the_panel_unless_asked_for(hall: Hall, page: Page) -> None:
    start(page)
    begin_round(page)
    page.locator("[data-picture]").focus()
    page.keyboard.press("KeyS")
    expect(asked(page)).to_be_visible()
    assert answers(hall) == []
    prefer(hall, single_keys=True)
    page.reload()
    page.wait_for_selector("[data-playing]")
    begin_round(page)
    page.locator("[data-picture]").focus()
    page.keyboard.press("KeyS")
    told(page).wait_for()


def test_a_reload_goes_on_at_the_first_unanswered_question(hall: Hall, page: Page) -> None:
    start(page)
    begin_round(page)
    answer(page)
    wait_for_answers(hall, page, 1)
    first = here(page)
    page.reload()
    page.wait_for_selector("[data-playing]")
    assert here(page) != first
    begin_round(page)
    answer(page)
    assert len(wait_for_answers(hall, page, 2)) == 2


def test_answers_given_without_a_connection_arrive_once_when_it_is_back(hall: Hall, context: BrowserContext, page: Page) -> None:
    start(page)
    begin_round(page)
    stocked(page)
    context.set_offline(True)
    for _ in range(5):
        begin_round(page)
        answer(page)
        go_on(page)
    assert answers(hall) == []
    expect(page.locator("[data-progress]")).to_contain_text("kept here")
    context.set_offline(False)
    rows = wait_for_answers(hall, page, 5)
    page.wait_for_timeout(300)
    assert len(answers(hall)) == 5
    assert max(Counter((row.showing_id, row.ask) for row in rows).values()) == 1
    assert [row.id for row in rows] == [row.id for row in sorted(rows, key=lambda row: row.phone_at)]


def test_pictures_and_explanations_need_no_network_once_the_drill_is_here(context: BrowserContext, page: Page) -> None:
    start(page)
    begin_round(page)
    stocked(page)
    context.set_offline(True)
    for _ in range(4):
        begin_round(page)
        assert page.locator("#shown").evaluate("image => image.complete && image.naturalWidth > 0")
        answer(page)
        page.wait_for_function("[...document.querySelectorAll('.panel image')].every(one => one.getAttribute('href').startsWith('blob:'))")
        go_on(page)


def test_answers_of_a_closed_tab_are_handed_in_by_the_next_page(hall: Hall, context: BrowserContext, page: Page) -> None:
    start(page)
    begin_round(page)
    stocked(page)
    context.set_offline(True)
    for _ in range(2):
        begin_round(page)
        answer(page)
        go_on(page)
    page.wait_for_timeout(200)
    page.close()
    context.set_offline(False)
    later = context.new_page()
    later.goto("/")
    assert len(wait_for_answers(hall, later, 2)) == 2
    later.close()


def test_a_reload_counts_what_waits_on_the_device_as_given(hall: Hall, context: BrowserContext, page: Page) -> None:
    page.route("**/drills/answers", lambda route: route.abort("internetdisconnected"))
    start(page)
    begin_round(page)
    answer(page)
    first = here(page)
    page.wait_for_timeout(200)
    page.reload()
    page.wait_for_selector("[data-playing]")
    begin_round(page)
    assert here(page) != first
    page.unroute("**/drills/answers")
    answer(page)
    assert len(wait_for_answers(hall, page, 2)) == 2


def test_an_answer_whose_receipt_was_lost_is_sent_again_and_counted_once(hall: Hall, page: Page) -> None:
    sent: list[str] = []

    def lose_the_receipt(route: Route) -> None:
        sent.append(route.request.post_data or "")
        if len(sent) == 1:
            route.fetch()
            route.abort("connectionreset")
        else:
            route.continue_()

    page.route("**/drills/answers", lose_the_receipt)
    start(page)
    begin_round(page)
    answer(page)
    page.wait_for_function("async () => document.querySelector('[data-progress]').textContent.includes('min left')")
    for _ in range(100):
        if len(sent) > 1:
            break
        page.wait_for_timeout(50)
    assert len(sent) == 2
    assert len(answers(hall)) == 1


def test_two_tabs_of_one_drill_harm_nothing(hall: Hall, context: BrowserContext, page: Page) -> None:
    start(page)
    begin_round(page)
    other = context.new_page()
    other.goto("/drill")
    other.wait_for_selector("[data-playing]")
    begin_round(other)
    answer(page, 0)
    answer(other, 1)
    rows = wait_for_answers(hall, page, 2)
    assert len({row.id for row in rows}) == 2
    with hall.store.look() as db:
        drill_id = playing.find_latest_drill(db, hall.people[LEARNER].id)
        packet = playing.the_packet(db, hall.people[LEARNER].id, drill_id or "", now=hall.clock.now)
    first = min(rows, key=lambda row: row.phone_at)
    assert packet.rounds[0].showings[0].given[0].said == first.said
    other.close()


def test_a_refused_answer_leaves_the_device_and_is_told(page: Page) -> None:
    def refuse(route: Route) -> None:
        sent = route.request.post_data_json["answers"]
        route.fulfill(
            json={"stored": [], "known": [], "refused": [{"id": one["id"], "why": "That picture is not in your drill."} for one in sent]}
        )

    page.route("**/drills/answers", refuse)
    start(page)
    begin_round(page)
    answer(page)
    expect(page.locator("[data-notice-words]")).to_have_text("That picture is not in your drill.")
    assert page.evaluate(QUEUED) == 0


def test_an_ended_sign_in_keeps_the_answers_for_the_same_person(hall: Hall, context: BrowserContext, page: Page) -> None:
    start(page)
    begin_round(page)
    stocked(page)
    context.clear_cookies()
    answer(page)
    expect(page.locator("[data-notice-words]")).to_contain_text("You are signed out")
    assert page.evaluate(QUEUED) == 1
    name, value = hall.sign_in(LEARNER)
    context.add_cookies([{"name": name, "value": value, "url": hall.address}])
    page.goto("/")
    assert len(wait_for_answers(hall, page, 1)) == 1
    page.wait_for_function(f"{QUEUED}.then(count => count === 0)")


def test_another_person_on_the_same_device_does_not_hand_in_what_is_not_hers(hall: Hall, context: BrowserContext, page: Page) -> None:
    start(page)
    begin_round(page)
    stocked(page)
    context.clear_cookies()
    answer(page)
    expect(page.locator("[data-notice-words]")).to_contain_text("You are signed out")
    name, value = hall.sign_in(STRANGER)
    context.add_cookies([{"name": name, "value": value, "url": hall.address}])
    page.goto("/")
    page.wait_for_load_state("networkidle")
    assert answers(hall) == []
    assert page.evaluate(QUEUED) == 1


def test_a_second_tap_at_once_does_not_skip_the_explanation(page: Page) -> None:
    start(page)
    begin_round(page)
    answer(page)
    told(page).locator("[data-next]").click()
    page.wait_for_timeout(100)
    expect(told(page)).to_be_visible()
    go_on(page)
    begin_round(page)


def test_the_same_key_held_down_answers_once(hall: Hall, page: Page) -> None:
    start(page)
    begin_round(page)
    page.locator(".panel").focus()
    for _ in range(5):
        page.keyboard.down("KeyS")  # without a key up these are repeats
    page.keyboard.up("KeyS")
    told(page).wait_for()
    page.wait_for_timeout(200)
    assert len(answers(hall)) == 1


def test_a_hint_rings_where_to_look_and_is_remembered(hall: Hall, page: Page) -> None:
    start(page)
    begin_round(page)
    page.get_by_role("link", name="Hint: where to look").click()
    expect(page.locator("[data-picture] .ring")).to_be_visible()
    expect(page.locator("[data-hint]")).to_be_hidden()
    answer(page)
    assert wait_for_answers(hall, page, 1)[0].hint
    go_on(page)
    begin_round(page)
    expect(page.locator("[data-picture] .ring")).to_have_count(0)
    answer(page)
    assert not wait_for_answers(hall, page, 2)[1].hint


def test_the_picture_is_enlarged_by_wheel_key_button_and_two_fingers(context: BrowserContext, page: Page) -> None:
    start(page)
    begin_round(page)
    picture = page.locator("[data-picture]")
    zoom = "box => Number(getComputedStyle(box).getPropertyValue('--zoom'))"
    picture.focus()
    page.keyboard.press("+")
    assert picture.evaluate(zoom) == pytest.approx(1.5)
    page.keyboard.press("0")
    assert picture.evaluate(zoom) == 1
    page.get_by_role("button", name="Enlarge").click()
    assert picture.evaluate(zoom) == pytest.approx(2.5)
    page.get_by_role("button", name="Whole").click()
    assert picture.evaluate(zoom) == 1
    picture.hover()
    page.mouse.wheel(0, -300)
    page.wait_for_function("Number(getComputedStyle(document.querySelector('[data-picture]')).getPropertyValue('--zoom')) > 2")
    picture.focus()
    page.keyboard.press("Escape")
    assert picture.evaluate(zoom) == 1
    touch = context.new_cdp_session(page)
    for kind, gap in (("touchStart", 20), ("touchMove", 40), ("touchMove", 60)):
        points = [{"x": 180 - gap, "y": 150, "id": 0}, {"x": 180 + gap, "y": 150, "id": 1}]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    assert picture.evaluate(zoom) == pytest.approx(3, abs=0.2)
    answer(page)
    assert picture.evaluate(zoom) == pytest.approx(3, abs=0.2), "the explanation must not undo what she looks at"


def test_a_dimmed_picture_stays_dim_from_question_to_question(hall: Hall, browser: Browser) -> None:
    with hall.context(browser, LEARNER, viewport=PHONE, color_scheme="dark") as context:
        page = context.new_page()
        start(page)
        begin_round(page)
        bright = "image => getComputedStyle(image).filter"
        assert page.locator("#shown").evaluate(bright) == "none"
        page.get_by_label("Dim picture").check()
        assert page.locator("#shown").evaluate(bright) == "brightness(0.55)"
        answer(page)
        assert page.locator("#shown").evaluate(bright) == "brightness(0.55)"
        go_on(page)
        begin_round(page)
        assert page.get_by_label("Dim picture").is_checked()


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["360x740", "1280x860"])
def test_nothing_moves_between_question_and_explanation(hall: Hall, steady: None, browser: Browser, size: dict[str, int]) -> None:
    with hall.context(browser, LEARNER, viewport=size) as context:
        page = context.new_page()
        start(page)
        for number in (0, 3, 1):
            begin_round(page)
            before = places(page)
            answer(page, number)
            after = places(page)
            assert len(before) >= 4
            for name, place in before.items():
                assert after[name] == pytest.approx(place, abs=0.5), name
            go_on(page)


def test_nothing_moves_when_a_trait_is_explained(page: Page) -> None:
    start(page)
    begin_round(page)
    assert asked(page).locator(".rung-tall, .rung-state").count()
    before = places(page)
    answer(page)
    after = places(page)
    for name, place in before.items():
        assert after[name] == pytest.approx(place, abs=0.5), name


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["360x740", "1280x860"])
def test_everything_to_tap_is_large_enough(hall: Hall, steady: None, browser: Browser, size: dict[str, int]) -> None:
    with hall.context(browser, LEARNER, viewport=size) as context:
        page = context.new_page()
        start(page)
        begin_round(page)
        page.locator(".neither summary").click()
        assert small_targets(page) == []
        answer(page)
        assert small_targets(page) == []


def test_no_answer_lies_where_the_button_that_goes_on_will_be(steady: None, page: Page) -> None:
    start(page)
    begin_round(page)
    page.locator(".neither summary").click()
    boxes = [button.bounding_box() for button in asked(page).locator("button[name=answer]").all()]
    strip = page.locator(".strip").bounding_box()
    answer(page, 7)
    goes_on = told(page).locator("[data-next]").bounding_box()
    assert strip
    assert goes_on
    for box in boxes:
        assert box
        # What lies under the strip cannot be tapped there.
        assert min(box["y"] + box["height"], strip["y"]) <= goes_on["y"] + 0.5


def test_feedback_is_there_within_the_tap_s_own_frame_or_two(page: Page, record_property: pytest.FixtureRequest) -> None:
    start(page)
    for _ in range(5):
        begin_round(page)
        answer(page)
        go_on(page)
    page.wait_for_timeout(100)
    took = page.evaluate("performance.getEntriesByName('tap to feedback').map(one => one.duration)")
    assert len(took) == 5
    record_property("tap to feedback, ms", took)  # type: ignore[operator] - measured, not asserted by the clock


def test_without_javascript_the_drill_goes_answer_by_answer(hall: Hall, browser: Browser) -> None:
    with hall.context(browser, LEARNER, viewport=PHONE, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto("/")
        page.get_by_role("button", name=re.compile("Start today's drill")).click()
        page.get_by_role("link", name=re.compile("Try a round")).click()
        page.get_by_role("link", name="Hint: where to look").click()
        expect(page.locator("[data-picture] .ring")).to_be_visible()
        page.locator("button[name=answer]").first.click()
        expect(told(page).locator("h1")).to_have_text(re.compile("^(Right|Missed)"))
        page.get_by_role("button", name="Next").click()
        page.locator("button[name=answer]").first.click()
        expect(told(page).locator("h1")).to_have_text(re.compile("^(Right|Missed)"))
        first, second = sorted(answers(hall), key=lambda row: row.ask)
        assert first.hint
        assert not second.hint
        assert (first.ask, second.ask) == (0, 1)


def test_over_plain_http_the_drill_goes_page_by_page_and_says_why(hall: Hall, page: Page) -> None:
    # A browser calls this machine's own addresses secure, so the page is told otherwise.
    page.add_init_script("Object.defineProperty(window, 'isSecureContext', {value: false})")
    page.goto("/")
    page.get_by_role("button", name=re.compile("Start today's drill")).click()
    page.locator("[data-begin]").click()
    expect(page.locator("[data-plain]")).to_contain_text("needs https")
    answer(page)
    assert "showing=" in page.url
    assert len(answers(hall)) == 1
    assert page.locator("[data-playing]").count() == 0


def test_a_round_whose_picture_is_withdrawn_is_left_out(hall: Hall, page: Page) -> None:
    prefer(hall, minutes_a_day=3)
    with hall.store.work() as db:
        drill_id = drilling.start_drill(db, hall.people[LEARNER].id, drill_id=str(uuid.uuid4()), at=hall.clock.now)
        packet = playing.the_packet(db, hall.people[LEARNER].id, drill_id, now=hall.clock.now)
    first = {showing.id for showing in packet.rounds[0].showings}
    later = {showing.id for view in packet.rounds[1:] for showing in view.showings}
    gone = packet.rounds[1].showings[0].picture.public_id
    hit = {one.id for view in packet.rounds for one in view.showings if any(other.picture.public_id == gone for other in view.showings)}
    page.route(f"**/pictures/{gone}/**", lambda route: route.fulfill(status=404))
    page.goto("/drill")
    page.wait_for_selector("[data-playing]")
    stocked(page)
    while "/drill/end" not in page.url:
        begin_round(page)
        answer(page)
        place = here(page)
        go_on(page)
        moved_on(page, place)
    given = {row.showing_id for row in answers(hall)}
    assert given == (first | later) - hit


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["360x740", "1280x860"])
def test_what_the_player_puts_up_has_no_fault(hall: Hall, browser: Browser, size: dict[str, int]) -> None:
    with hall.context(browser, LEARNER, viewport=size) as context:
        page = context.new_page()
        start(page)
        faults = look_at(page)
        begin_round(page)
        for _ in range(2):
            faults += look_at(page)
            answer(page)
            faults += look_at(page)
            go_on(page)
            begin_round(page)
        assert faults == []


def test_page_and_player_explain_in_the_same_words(hall: Hall, browser: Browser, page: Page) -> None:
    start(page)
    with hall.context(browser, LEARNER, viewport=PHONE, java_script_enabled=False) as without:
        plain = without.new_page()
        for turn in range(4):
            begin_round(page)
            answer(page, turn % 2)
            wait_for_answers(hall, page, turn + 1)
            showing, ask = here(page)
            plain.goto(f"/drill?showing={showing}&ask={ask}")
            assert words(plain.locator(".panel")) == words(told(page))
            assert plain.locator("#shown").get_attribute("alt") == page.locator("#shown").get_attribute("alt")
            assert plain.locator("[data-picture] .marks").inner_html() == page.locator("[data-picture] .marks").inner_html()
            go_on(page)


def test_the_end_waits_for_what_is_not_handed_in(hall: Hall, context: BrowserContext, page: Page) -> None:
    prefer(hall, minutes_a_day=3)
    start(page)
    begin_round(page)
    stocked(page)
    context.set_offline(True)
    for _ in range(100):
        begin_round(page)
        answer(page)
        last = told(page).locator("[data-next]").inner_text() == "How it went"
        go_on(page)
        if last:
            break
    assert answers(hall) == []
    expect(page.locator("[data-kept] b")).to_have_text(re.compile("answers are"), timeout=10_000)
    context.set_offline(False)
    page.wait_for_url("**/drill/end*")
    expect(page.locator("h1")).to_have_text("That was today's drill")
