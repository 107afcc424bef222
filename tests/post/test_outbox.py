"""The outbox on both engines: kept with what it tells of, taken by one worker at a time, tried again ever later, bared at the end."""

from __future__ import annotations

import socket
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.acts.send_mail import send_waiting
from drillhall.pictures.storage import FolderStorage
from drillhall.post import jobs, outbox
from drillhall.post.mail import Block
from drillhall.post.outbox import CLAIM, WAITS, Claimed, Envelope
from drillhall.post.sending import LONGEST_SECONDS, STEP_SECONDS
from drillhall.store.models.post import LetterRow
from drillhall.store.session import Store
from tests.post.postbox import HALL, answering, office, taking

AT = datetime(2031, 3, 3, 9, tzinfo=UTC)
TO = Envelope("one", "reminder", "oda@club.example")


def put(store: Store, envelope: Envelope = TO) -> bool:
    with store.work() as db:
        return outbox.put(db, envelope, "Birds", [Block("Look up.")], public_url=HALL, at=AT)


def claim(store: Store, at: datetime = AT) -> Claimed | None:
    with store.work() as db:
        return outbox.claim(db, at=at)


def rows(store: Store) -> list[LetterRow]:
    with store.look() as db:
        return list(db.scalars(select(LetterRow).order_by(LetterRow.id)))


def test_the_same_letter_is_written_once(store: Store) -> None:
    assert (put(store), put(store), put(store, replace(TO, key="two"))) == (True, False, True)
    assert len(rows(store)) == 2


def test_a_letter_of_a_work_that_fails_is_never_there(store: Store) -> None:
    def fail() -> None:
        with store.work() as db:
            outbox.put(db, TO, "Birds", [Block("Look up.")], public_url=HALL, at=AT)
            raise RuntimeError("the rest went wrong")

    with pytest.raises(RuntimeError):
        fail()
    assert rows(store) == []


def test_a_claimed_letter_is_nobody_elses_until_the_claim_runs_out(store: Store) -> None:
    put(store)
    first = claim(store)
    assert first is not None
    assert claim(store, AT + CLAIM / 2) is None
    second = claim(store, AT + CLAIM)
    assert second is not None
    assert (second.id, second.claim) == (first.id, first.claim + 1)
    with store.work() as db:
        outbox.settle_failed(db, first, "too slow", for_good=True, at=AT + CLAIM)
    assert rows(store)[0].given_up_at is None, "whose claim ran out has no say any more"


def test_two_workers_at_once_send_each_letter_once(store: Store, tmp_path: Path) -> None:
    for number in range(12):
        put(store, replace(TO, key=f"letter {number}", address=f"reader{number}@club.example"))
    with taking() as (box, server), ThreadPoolExecutor(3) as pool:
        work = [pool.submit(send_waiting, store, FolderStorage(tmp_path), office(server), clock=lambda: AT) for _ in range(3)]
        went = [one.result() for one in work]
    assert sum(went) == 12
    assert sorted(to for one in box.to for to in one) == sorted(f"reader{number}@club.example" for number in range(12))


def test_what_went_is_bared_of_words_and_address(sqlite_store: Store, tmp_path: Path) -> None:
    put(sqlite_store)
    with taking() as (_, server):
        assert send_waiting(sqlite_store, FolderStorage(tmp_path), office(server), clock=lambda: AT) == 1
    (row,) = rows(sqlite_store)
    assert (row.address, row.subject, row.text, row.html, row.sent_at) == ("", "", "", "", AT)
    with sqlite_store.work() as db:
        outbox.forget_old(db, at=AT + outbox.KEPT + timedelta(seconds=1))
    assert rows(sqlite_store) == []


def test_it_is_tried_ever_later_and_given_up_in_the_end(sqlite_store: Store) -> None:
    put(sqlite_store)
    at, waited = AT, []
    while (letter := claim(sqlite_store, at)) is not None:
        with sqlite_store.work() as db:
            outbox.settle_failed(db, letter, "the mail server hangs", for_good=False, at=at)
        assert claim(sqlite_store, at) is None
        (row,) = rows(sqlite_store)
        waited.append(row.due_at - at)
        at = row.due_at
    assert tuple(waited[:-1]) == WAITS
    assert list(WAITS) == sorted(WAITS)
    assert (row.given_up_at, row.address, row.fault) == (at, "", "the mail server hangs")


def test_a_letter_whose_time_has_passed_is_not_sent(store: Store) -> None:
    put(store, replace(TO, until=AT + timedelta(hours=1)))
    assert claim(store, AT + timedelta(hours=1)) is None
    (row,) = rows(store)
    assert (row.given_up_at, row.address) == (AT + timedelta(hours=1), "")


def test_a_refusal_that_passes_is_got_over(sqlite_store: Store, tmp_path: Path) -> None:
    put(sqlite_store)
    with taking() as (box, server):
        box.rcpt_replies.append("451 greylisted")
        storage, clock = FolderStorage(tmp_path), [AT]
        assert send_waiting(sqlite_store, storage, office(server), clock=lambda: clock[0]) == 0
        clock[0] += WAITS[0]
        assert send_waiting(sqlite_store, storage, office(server), clock=lambda: clock[0]) == 1
    assert len(box.raw) == 1
    with sqlite_store.look() as db:
        state = outbox.the_state(db)
    assert (state.waiting, state.sent_at, state.fault) == (0, AT + WAITS[0], "")


def test_an_address_refused_for_good_is_counted_and_bared(store: Store, tmp_path: Path) -> None:
    put(store)
    with taking() as (box, server):
        box.rcpt_replies.append("550 5.1.1 no such box")
        assert send_waiting(store, FolderStorage(tmp_path), office(server), clock=lambda: AT) == 0
        assert send_waiting(store, FolderStorage(tmp_path), office(server), clock=lambda: AT + timedelta(days=2)) == 0
    (row,) = rows(store)
    assert (row.address, row.text, row.tries, row.given_up_at) == ("", "", 1, AT)
    assert "oda" not in f"{row.key} {row.fault}"
    with store.look() as db:
        assert outbox.the_state(db).refused == 1


def test_a_worker_that_lost_its_claim_ends_nothing(store: Store) -> None:
    put(store)
    late, next_one = claim(store), claim(store, AT + CLAIM)
    assert late is not None
    assert next_one is not None
    with store.work() as db:
        assert not outbox.settle_refused(db, late, "refused", about="", at=AT + CLAIM)
        assert outbox.settle_refused(db, next_one, "refused", about="", at=AT + CLAIM)


def test_a_server_that_hangs_holds_nothing_up(store: Store, tmp_path: Path) -> None:
    """While it hangs, others write; the letter waits for its next try."""
    put(store)
    wrote: list[bool] = []

    def hang(line: socket.socket) -> None:
        wrote.append(put(store, replace(TO, key="meanwhile")))
        line.recv(1)

    with answering(hang, step_seconds=0.5) as server:
        assert send_waiting(store, FolderStorage(tmp_path), office(server), clock=lambda: AT, most=1) == 0
    assert wrote == [True]
    first, _ = rows(store)
    assert (first.fault, first.due_at, first.claimed_until) == ("the mail server did not answer in time", AT + WAITS[0], None)


def test_no_letter_takes_longer_than_it_is_claimed() -> None:
    assert timedelta(seconds=LONGEST_SECONDS + 6 * STEP_SECONDS) < CLAIM


def test_a_job_is_one_workers_and_comes_again(store: Store) -> None:
    def turn(at: datetime) -> bool:
        with store.work() as db:
            return jobs.take_turn(db, "sweep", every=timedelta(hours=1), at=at)

    assert (turn(AT), turn(AT), turn(AT + timedelta(minutes=59)), turn(AT + timedelta(hours=1))) == (True, False, False, True)
    with store.look() as db:
        assert jobs.list_waiting(db, ["sweep", "other"], at=AT + timedelta(hours=1)) == ("other",)
