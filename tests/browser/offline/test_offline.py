"""The hall without a connection: a whole drill, two devices, an ended sign-in, no room, a new release, pictures withdrawn, signing out."""

from __future__ import annotations

import re
from collections import Counter
from datetime import timedelta

import pytest
from playwright.sync_api import Browser, Page, expect

from drillhall.people import sign_ins
from drillhall.practice import playing
from drillhall.store.models.pictures import PictureRow
from drillhall.web import assets
from tests.browser.drill.steps import PHONE, QUEUED, answers, begin_round, go_on, here, prefer, stocked, told, wait_for_answers
from tests.browser.looking import look_at
from tests.browser.offline.devices import (
    KEPT,
    KNOWN,
    NO_DRILL,
    NOTES_SYNC,
    ONE_SHELL,
    READY,
    at_hand,
    drills_kept,
    open_drill,
    play_on,
    stoppable,
    until,
    wake_the_worker,
)
from tests.cast import LEARNER
from tests.hall import Hall


def look_a_part_up_and_go_on(page: Page) -> None:
    page.goto("/parts-of-a-bird#bill")
    expect(page.locator("#bill")).to_be_in_viewport()
    page.goto("/standing")
    open_drill(page)


def speak_german(hall: Hall, page: Page, shell: str) -> None:
    """Another language is kept in the place of the one before with the next connection, however much the page asks for meanwhile."""
    prefer(hall, language="de")
    page.add_init_script("setInterval(() => fetch('/static/js/words.js').catch(() => {}), 20)")
    page.goto("/")
    until(page, ONE_SHELL, shell)
    expect(page.locator("[data-keep-words]")).to_contain_text("auf diesem Gerät")
    page.context.set_offline(True)
    page.goto("/standing")
    expect(page.locator("h1:visible")).to_have_text("Keine Verbindung, und keine nötig")
    page.goto("/drill")
    page.wait_for_selector("html[lang=de] [data-playing]", state="attached")


def test_a_whole_drill_is_done_without_a_connection_and_handed_in_once(hall: Hall, browser: Browser) -> None:
    prefer(hall, minutes_a_day=3)
    with stoppable(hall) as server:
        context = hall.context(browser, LEARNER, viewport=PHONE, has_touch=True)
        page = context.new_page()
        page.goto("/")
        page.get_by_role("button", name="Keep today's drill on this device").click()
        expect(page.locator("[data-keep-words]")).to_contain_text("is on this device")
        until(page, READY)
        server.stop()
        page.goto("/")
        expect(page.locator("h1:visible")).to_have_text("No connection, and no need of it")
        expect(page.locator("[data-until]")).to_have_text("17 March")
        page.get_by_role("link", name=re.compile("Go on: 3 pairs")).click()
        page.wait_for_selector("[data-playing]", state="attached")
        said = play_on(page, 2)
        page.close()
        context.set_offline(True)
        page = context.new_page()
        page.goto("/standing")
        expect(page.locator("[data-waits]")).to_have_text("2 answers wait here and go out with the next connection.")
        assert look_at(page) == []
        look_a_part_up_and_go_on(page)
        said += play_on(page, 1)
        page.reload()
        page.wait_for_selector("[data-playing]", state="attached")
        said += play_on(page, 200)
        go_on(page)
        expect(page.locator("[data-kept] b")).to_have_text(f"{len(said)} answers are", timeout=10_000)
        hall.clock.pass_by(hours=2)  # and the device's clock is years behind the hall's all the while
        server.start()
        context.set_offline(False)
        page.wait_for_url("**/drill/end*", timeout=15_000)
        rows = sorted(answers(hall), key=lambda row: row.at)
        assert [(str(row.showing_id), str(row.ask), row.said) for row in rows] == said
        assert [row.id for row in rows] == sorted(row.id for row in rows)
        assert all(timedelta(0) <= hall.clock.now - row.at < timedelta(minutes=5) for row in rows)
        assert all(hall.clock.now - row.phone_at > timedelta(days=1) for row in rows)
        page.goto("/")
        until(page, NO_DRILL)
        context.close()


def test_what_was_handed_in_before_the_connection_went_is_not_asked_again(hall: Hall, browser: Browser) -> None:
    first, second = (hall.context(browser, LEARNER, viewport=PHONE) for _ in range(2))
    page, other = first.new_page(), second.new_page()
    page.goto("/")
    page.get_by_role("button", name=re.compile("Start today's drill")).click()
    page.wait_for_selector("[data-playing]", state="attached")
    at_hand(page)
    said = play_on(page, 1)
    wait_for_answers(hall, page, 1)
    open_drill(other)
    at_hand(other)
    # Two devices, both without a connection: the same questions on both.
    first.set_offline(True)
    second.set_offline(True)
    page.reload()
    page.wait_for_selector("[data-playing]", state="attached")
    mine = play_on(page, 2)
    hers = play_on(other, 3)
    assert [one[:2] for one in mine] == [one[:2] for one in hers[:2]] != [said[0][:2]]
    second.set_offline(False)
    wait_for_answers(hall, other, 4)
    first.set_offline(False)
    rows = wait_for_answers(hall, page, 6)
    assert len({row.id for row in rows}) == len(rows) == 6
    assert Counter(Counter((row.showing_id, row.ask) for row in rows).values()) == {1: 2, 2: 2}
    page.reload()
    page.wait_for_selector("[data-playing]", state="attached")
    begin_round(page)
    begin_round(other)
    assert here(page) == here(other)
    # Of two answers the one given first counts, though it came in last.
    with hall.store.look() as db:
        drill_id = playing.find_latest_drill(db, hall.people[LEARNER].id) or ""
        packet = playing.the_packet(db, hall.people[LEARNER].id, drill_id, now=hall.clock.now)
    given = {(str(one.id), str(place)): told.said for view in packet.rounds for one in view.showings for place, told in one.given.items()}
    assert [given[one[:2]] for one in mine] == [one[2] for one in mine]
    first.close()
    second.close()


def sign_out_by_the_worker_alone(page: Page) -> None:
    """Sign out while a new worker waits, before the page's own script has got anywhere: the one at work takes all of hers."""
    page.goto("/settings")
    page.evaluate("navigator.serviceWorker.ready.then(one => one.update())")
    until(page, "async () => Boolean((await navigator.serviceWorker.ready).waiting)")
    assert drills_kept(page)
    assert page.evaluate(KNOWN) == 1
    with page.expect_navigation(url="**/sign-in"):
        page.evaluate("document.querySelector('form[action=\"/sign-out\"]').submit()")
    until(page, NO_DRILL)
    assert page.evaluate(KNOWN) == 0


def test_a_worker_that_is_woken_hands_in_with_no_page_open(hall: Hall, browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    context = hall.context(browser, LEARNER, viewport=PHONE)
    page = context.new_page()
    page.add_init_script(NOTES_SYNC)
    page.goto("/")
    page.get_by_role("button", name=re.compile("Start today's drill")).click()
    page.wait_for_selector("[data-playing]", state="attached")
    at_hand(page)
    context.set_offline(True)
    play_on(page, 2)
    until(page, "() => window.asked.includes('drillhall answers')")
    page.goto("about:blank")
    context.set_offline(False)
    wake_the_worker(page, hall)
    sent = wait_for_answers(hall, page, 2)
    wake_the_worker(page, hall)
    open_drill(page)
    assert page.evaluate(QUEUED) == 0
    assert [(row.id, row.received_at) for row in answers(hall)] == [(row.id, row.received_at) for row in sent]
    play_on(page, 1)
    wait_for_answers(hall, page, 3)
    monkeypatch.setattr(assets, "version", lambda: "f" * 12)
    sign_out_by_the_worker_alone(page)
    context.close()


def test_a_sign_in_ended_elsewhere_leaves_the_answers_and_takes_the_drill(hall: Hall, browser: Browser) -> None:
    context = hall.context(browser, LEARNER, viewport=PHONE)
    page = context.new_page()
    page.goto("/offline")
    page.evaluate("caches.open('drillhall shell 0123456789ab en')")  # of a worker of earlier releases, which goes once it is replaced
    page.goto("/")
    page.get_by_role("button", name="Keep today's drill on this device").click()
    expect(page.locator("[data-keep-words]")).to_contain_text("is on this device")
    open_drill(page)
    at_hand(page)
    until(page, "async () => !(await caches.keys()).some(name => name.startsWith('drillhall shell '))")
    context.set_offline(True)
    play_on(page, 1)
    with hall.store.work() as db:
        sign_ins.end_sign_ins(db, hall.people[LEARNER].id)
    context.set_offline(False)
    expect(page.locator("[data-notice-words]")).to_contain_text("You are signed out", timeout=10_000)
    until(page, NO_DRILL)
    assert page.evaluate(QUEUED) == 1
    page.goto("/")
    page.get_by_label("Name").fill(LEARNER.name)
    page.get_by_label("Passphrase", exact=True).fill(LEARNER.passphrase)
    page.get_by_role("button", name="Sign in").click()
    assert len(wait_for_answers(hall, page, 1)) == 1
    context.close()


def test_signing_out_hands_in_first_and_leaves_nothing_behind(hall: Hall, browser: Browser) -> None:
    context = hall.context(browser, LEARNER, viewport=PHONE)
    page = context.new_page()
    page.goto("/")
    page.get_by_role("button", name=re.compile("Start today's drill")).click()
    page.wait_for_selector("[data-playing]", state="attached")
    at_hand(page)
    leaving = context.new_page()
    leaving.goto("/settings")
    leaving.evaluate("localStorage.setItem('drillhall dim', 'yes')")
    context.set_offline(True)
    play_on(page, 1)
    page.close()
    leaving.get_by_role("button", name="Sign out", exact=True).click()
    expect(leaving.locator("form [role=status]")).to_contain_text("1 answer waits on this device: there is no connection.")
    expect(leaving.get_by_role("button", name="Sign out and lose them")).to_be_visible()
    assert drills_kept(leaving)
    context.set_offline(False)
    leaving.get_by_role("button", name="Sign out", exact=True).click()
    leaving.wait_for_url("**/sign-in")
    assert len(answers(hall)) == 1
    assert drills_kept(leaving) == []
    assert leaving.evaluate(QUEUED) == 0
    assert leaving.evaluate("localStorage.length") == 0
    assert leaving.evaluate(KNOWN) == 0
    context.close()


def test_without_room_on_the_device_the_drill_says_so_and_goes_on(hall: Hall, browser: Browser) -> None:
    context = hall.context(browser, LEARNER, viewport=PHONE)
    page = context.new_page()
    page.goto("/sign-in")
    context.new_cdp_session(page).send("Storage.overrideQuotaForOrigin", {"origin": hall.address, "quotaSize": 1000})
    page.goto("/")
    page.get_by_role("button", name="Keep today's drill on this device").click()
    expect(page.locator("[data-keep-words]")).to_contain_text("There is no room on this device")
    assert drills_kept(page) == []
    open_drill(page)
    expect(page.locator("[data-notice-words]")).to_contain_text("There is no room on this device")
    stocked(page)
    context.set_offline(True)
    play_on(page, 2)
    expect(page.locator("[data-notice-words]")).to_contain_text("no room on this device to keep your answers")
    context.set_offline(False)
    assert len(wait_for_answers(hall, page, 2)) == 2
    context.close()


def test_a_new_release_and_a_withdrawn_picture_while_a_drill_is_open(hall: Hall, browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    context = hall.context(browser, LEARNER, viewport=PHONE)
    page = context.new_page()
    page.goto("/")
    page.get_by_role("button", name=re.compile("Start today's drill")).click()
    page.wait_for_selector("[data-playing]", state="attached")
    at_hand(page)
    old, new = assets.version(), "f" * 12
    monkeypatch.setattr(assets, "version", lambda: new)
    with hall.store.work() as db:
        drill_id = playing.find_latest_drill(db, hall.people[LEARNER].id) or ""
        packet = playing.the_packet(db, hall.people[LEARNER].id, drill_id, now=hall.clock.now)
        gone = packet.rounds[1].showings[-1].picture.public_id
        db.query(PictureRow).filter(PictureRow.public_id == gone).update({"retired_at": hall.clock.now})
    page.evaluate("navigator.serviceWorker.ready.then(one => one.update())")
    until(page, "async old => !(await caches.keys()).some(name => name.includes(old))", old)
    # The page that is open, and what is kept with it, stay of one release.
    context.set_offline(True)
    page.reload()
    page.wait_for_selector("[data-playing]", state="attached")
    assert any(gone in address for address in drills_kept(page))
    play_on(page, 2)
    context.set_offline(False)
    assert len(wait_for_answers(hall, page, 2)) == 2
    until(
        page,
        "async gone => { for (const name of await caches.keys()) for (const one of await (await caches.open(name)).keys()) "
        "if (one.url.includes(gone)) return false; return true; }",
        gone,
    )
    assert any(f"/static/{old}/" in address for address in drills_kept(page))
    open_drill(page)
    at_hand(page)
    kept = drills_kept(page)
    assert {address.split("/")[2] for address in kept if address.startswith("/static/")} == {new}
    assert [name for name in page.evaluate(KEPT) if "pages" in name] == [f"drillhall pages {new} en"]
    assert told(page).count() == 0
    speak_german(hall, page, f"drillhall pages {new} de")
    context.close()
