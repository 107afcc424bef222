"""Runs what recurs, and sends what waits: one round of a worker's work."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from sqlalchemy.orm import Session

from drillhall.acts.erase_person import clear_files, erase_person, finish_erasing
from drillhall.acts.mail_open_questions import mail_open_questions
from drillhall.acts.refresh_hall_rates import refresh_hall_rates
from drillhall.acts.remind import remind
from drillhall.acts.send_mail import send_waiting
from drillhall.catalogues import staging
from drillhall.people import addresses, retention
from drillhall.pictures import sweeping
from drillhall.pictures.storage import Storage, drop_unfinished, orphans
from drillhall.post import jobs, outbox
from drillhall.post.office import Office
from drillhall.practice import own_numbers
from drillhall.practice.open_questions import subscribing
from drillhall.practice.recalibrating import refresh_recalibration
from drillhall.store.session import Store


@dataclass(frozen=True, slots=True)
class Workshop:
    """What a worker works with; `office` is None where the hall sends no mail, `uploads` where no zips wait to be imported."""

    store: Store
    storage: Storage
    office: Office | None
    clock: Callable[[], datetime]
    uploads: Path | None = None


@dataclass(frozen=True, slots=True)
class Job:
    """Something that recurs; `run` does it in works of its own, and may be run by any worker."""

    name: str
    every: timedelta
    run: Callable[[Workshop], object]


def run_round(shop: Workshop) -> int:
    """Run every job that is due and send every letter that waits; return how many jobs ran and letters went.

    A job whose turn was taken and that fails is not run again before its next turn; what it raises goes on to the edge.
    """
    with shop.store.look() as db:
        waiting = set(jobs.list_waiting(db, [job.name for job in JOBS], at=shop.clock()))
    done = sum(_run_one(shop, job) for job in JOBS if job.name in waiting)
    if shop.office is not None:
        done += send_waiting(shop.store, shop.storage, shop.office, clock=shop.clock)
    return done


def _run_one(shop: Workshop, job: Job) -> bool:
    with shop.store.work() as db:
        mine = jobs.take_turn(db, job.name, every=job.every, at=shop.clock())
    if not mine:
        return False
    try:
        job.run(shop)
    except Exception as error:
        with shop.store.work() as db:
            jobs.note_fault(db, job.name, type(error).__name__)
        raise
    return True


def _by_mail(write: Callable[[Session, Office, datetime], object]) -> Callable[[Workshop], object]:
    """Return a job that writes letters, all in one work, where the hall sends any."""

    def run(shop: Workshop) -> None:
        if shop.office is not None:
            with shop.store.work() as db:
                write(db, shop.office, shop.clock())

    return run


def _forget(shop: Workshop) -> None:
    with shop.store.work() as db:
        outbox.forget_old(db, at=shop.clock(), kept=timedelta(days=retention.the_retention(db).letters))
        addresses.forget_unconfirmed(db, at=shop.clock())
        subscribing.forget_unconfirmed(db, at=shop.clock())


def _keep_no_longer(shop: Workshop) -> None:
    """Forget what is past its span, erase accounts that were closed long ago, and finish an erasing that was broken off.

    Pictures of theirs that catalogues hold under an open licence stay, with their credit: nobody has said otherwise.
    """
    with shop.store.work() as db:
        retention.forget_past(db, at=shop.clock())
        closed = retention.list_past_closing(db, at=shop.clock())
    for account_id in closed:
        erase_person(shop.store, shop.storage, account_id, leave_licensed=True, by=None, at=shop.clock(), uploads=shop.uploads)
    finish_erasing(shop.store, shop.storage)


def _sum_mixups(shop: Workshop) -> None:
    with shop.store.work() as db:
        refresh_hall_rates(db, at=shop.clock())


def _fit_forecasts(shop: Workshop) -> None:
    with shop.store.work() as db:
        refresh_recalibration(db)


def _fit_numbers(shop: Workshop) -> None:
    """Fit what learners have asked for, one after the other; the fitting itself holds no lock and changes nothing."""
    while True:
        with shop.store.work() as db:
            account_id = own_numbers.take_up(db, at=shop.clock())
        if account_id is None:
            return
        with shop.store.look() as db:
            offer = own_numbers.seek_offer(db, account_id)
        with shop.store.work() as db:
            own_numbers.settle(db, account_id, offer, at=shop.clock())


def _sweep_broken_off(shop: Workshop) -> None:
    """Let go what uploads that were broken off a day ago or more have left in the storage, and zips that nobody imported in a day."""
    at = shop.clock()
    if shop.uploads is not None:
        staging.sweep(shop.uploads, at=at)
    drop_unfinished(shop.storage, before=at - sweeping.BROKEN_OFF)
    with shop.store.look() as db:
        left = orphans(db, shop.storage)
    with shop.store.work() as db:
        sweeping.sweep_broken_off(db, shop.storage, left, at=at)


JOBS: Final[tuple[Job, ...]] = (
    Job("remind of what groups have set", timedelta(hours=1), _by_mail(lambda db, office, at: remind(db, office, at=at))),
    Job("mail open questions", timedelta(minutes=15), _by_mail(lambda db, office, at: mail_open_questions(db, office, at=at))),
    Job("sum the hall's mix-ups", timedelta(hours=6), _sum_mixups),
    Job("fit learners' own numbers", timedelta(seconds=10), _fit_numbers),
    Job("fit the hall's forecasts", timedelta(hours=6), _fit_forecasts),
    Job("forget letters and addresses", timedelta(hours=6), _forget),
    Job("keep no longer than set", timedelta(hours=6), _keep_no_longer),
    Job("clear files of whom was erased", timedelta(hours=1), lambda shop: clear_files(shop.store)),
    Job("sweep what uploads left behind", timedelta(hours=6), _sweep_broken_off),
)
"""Everything that recurs in a hall, in the order in which it is run."""
