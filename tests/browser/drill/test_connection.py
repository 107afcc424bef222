"""A drill whose connection goes, whose tab is closed, whose sign-in ends: no answer is lost, none is counted twice."""

from __future__ import annotations

import re
import uuid
from collections import Counter

from playwright.sync_api import Browser, BrowserContext, Page, Request, Route, expect

from drillhall.practice import drilling, playing
from tests.browser.drill.steps import (
    PHONE,
    QUEUED,
    answer,
    answers,
    asked,
    begin_round,
    go_on,
    here,
    moved_on,
    prefer,
    start,
    stocked,
    told,
    wait_for_answers,
    wait_for_queued,
)
from tests.cast import LEARNER, STRANGER
from tests.hall import Hall


def is_batch(request: Request) -> bool:
    return request.method == "POST" and request.url.endswith("/drills/answers")


def test_answers_given_without_a_connection_arrive_once_when_it_is_back(hall: Hall, context: BrowserContext, page: Page) -> None:
    sent: list[str] = []
    page.on("requestfinished", lambda one: sent.extend(told["id"] for told in one.post_data_json["answers"]) if is_batch(one) else None)
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
    # The hall has the rows before the device has its word: what was sent is told by the end of the request alone.
    with page.expect_event("requestfinished", is_batch):
        context.set_offline(False)
    rows = wait_for_answers(hall, page, 5)
    assert sent == [row.id for row in sorted(rows, key=lambda row: row.phone_at)]
    page.wait_for_timeout(300)
    assert len(answers(hall)) == 5
    assert max(Counter((row.showing_id, row.ask) for row in rows).values()) == 1
    assert [row.id for row in rows] == [row.id for row in sorted(rows, key=lambda row: row.phone_at)]


def test_a_link_pressed_without_a_connection_says_so_and_leads_nowhere(hall: Hall, browser: Browser) -> None:
    # Where nothing answers for the hall on the device; where something does, the link leads to the page that it keeps.
    context = hall.context(browser, LEARNER, viewport=PHONE, service_workers="block")
    page = context.new_page()
    start(page)
    begin_round(page)
    stocked(page)
    context.set_offline(True)
    answer(page)
    page.get_by_role("link", name="Stop here").click()
    expect(page.locator("[data-notice-words]")).to_contain_text("What you answered is kept on this device")
    context.set_offline(False)
    wait_for_answers(hall, page, 1)
    context.close()


def test_answers_of_her_that_wait_survive_somebody_elses_sign_in(hall: Hall, context: BrowserContext, page: Page) -> None:
    start(page)
    begin_round(page)
    stocked(page)
    context.set_offline(True)
    answer(page)
    name, token = hall.sign_in(STRANGER)
    context.add_cookies([{"name": name, "value": token, "url": hall.address}])
    context.set_offline(False)
    page.wait_for_timeout(1500)
    assert answers(hall) == []
    assert page.evaluate(QUEUED) == 1
    name, token = hall.sign_in(LEARNER)
    context.add_cookies([{"name": name, "value": token, "url": hall.address}])
    page.reload()
    wait_for_answers(hall, page, 1)


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
    wait_for_queued(page, 2)
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
    wait_for_queued(page, 1)
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
    for _ in range(300):
        if len(sent) > 1:
            break
        page.wait_for_timeout(50)
    assert len(sent) == 2
    assert len(answers(hall)) == 1
    expect(page.locator("[data-progress]")).to_contain_text("min left")


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


def test_a_round_whose_picture_is_withdrawn_is_left_out(hall: Hall, context: BrowserContext) -> None:
    prefer(hall, minutes_a_day=3)
    with hall.store.work() as db:
        drill_id = drilling.start_drill(db, hall.people[LEARNER].id, drill_id=str(uuid.uuid4()), at=hall.clock.now)
        packet = playing.the_packet(db, hall.people[LEARNER].id, drill_id, now=hall.clock.now)
    keys = {(str(one.id), str(asked.place)): asked.key for view in packet.rounds for one in view.showings for asked in one.questions}
    planned = {showing.id for view in packet.rounds if not view.spare for showing in view.showings}
    gone = packet.rounds[1].showings[0].picture.public_id
    hit = {one.id for view in packet.rounds for one in view.showings if any(other.picture.public_id == gone for other in view.showings)}
    page = context.new_page()
    page.route(f"**/pictures/{gone}/**", lambda route: route.fulfill(status=404))
    page.goto("/drill")
    page.wait_for_selector("[data-playing]")
    stocked(page)
    while "/drill/end" not in page.url:
        begin_round(page)
        place = here(page)
        asked(page).locator(f'[name=answer][value^="{keys[place]}:"]').first.click()
        go_on(page)
        moved_on(page, place)
    given = {row.showing_id for row in answers(hall)}
    assert given == planned - hit


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
