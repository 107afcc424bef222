"""Whether the hall is up, whether it can take people, and what it has counted: for programs that watch it."""

from __future__ import annotations

import hmac
import shutil
from typing import Final

from flask import Blueprint, Response, request

from drillhall import __version__
from drillhall.config import is_loopback
from drillhall.errors import DrillhallError, NotFound, Unavailable
from drillhall.people import hall
from drillhall.post import outbox
from drillhall.web import exposition, session
from drillhall.web.exposition import Family, Sample, gauge
from drillhall.web.session import store
from drillhall.web.watching import Meter, meter
from drillhall.words import say

blueprint: Final = Blueprint("health", __name__)
FORWARDED: Final = ("Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-Ip", "Via")


@blueprint.get("/health")
def alive() -> Response:
    """Answer that this process is up, without asking the database."""
    return _word("The hall is up.", 200)


@blueprint.get("/ready")
def ready() -> Response:
    """Answer whether the database can be read, or 503."""
    try:
        with store().look() as db:
            if not hall.is_set_up(db):
                raise Unavailable(say("The hall is not set up."))
    except DrillhallError:
        answer = _word("The database is busy or away.", 503)
        answer.headers["Retry-After"] = "5"
        return answer
    return _word("The hall is ready.", 200)


@blueprint.get("/metrics")
def metrics() -> Response:
    """Show what this process has counted and how the hall stands, to whoever may know; it names nobody."""
    if not _may_read():
        raise NotFound(say("There is no such page here."))
    families = (*_of_process(meter()), *_of_hall())
    return Response(exposition.write(families), content_type=exposition.MEDIA_TYPE)


def _may_read() -> bool:
    """Whether the token is shown, or a hall that nobody else can reach is asked from its own machine.

    Behind a proxy everybody seems to come from this machine, so there it takes the token.
    """
    told = session.settings()
    kind, _, shown = request.headers.get("Authorization", "").partition(" ")
    if told.metrics_token and kind.lower() == "bearer":
        return hmac.compare_digest(shown.strip().encode(), told.metrics_token.encode())
    if told.public_url or told.trusted_proxy or not told.is_local or any(name in request.headers for name in FORWARDED):
        return False
    return is_loopback(request.remote_addr or "")


def _word(sentence: str, status: int) -> Response:
    return Response(f"{sentence}\n", status, mimetype="text/plain")


def _of_process(counted: Meter) -> tuple[Family, ...]:
    by_page = tuple(
        Sample("_total", {"page": page, "method": method, "status": str(status)}, count)
        for (page, method, status), count in sorted(counted.requests().items())
    )
    bounds, seconds = counted.seconds()
    spread = tuple(Sample("_bucket", {"le": exposition.bound(at)}, count) for at, count in bounds)
    sums = (Sample("_count", {}, bounds[-1][1]), Sample("_sum", {}, seconds))
    return (
        Family("drillhall_build", "info", "The program.", (Sample("_info", {"version": __version__}, 1),)),
        gauge("drillhall_began_timestamp_seconds", "When this process began.", counted.began_at),
        Family("drillhall_requests", "counter", "Requests answered by this process.", by_page),
        Family("drillhall_request_seconds", "histogram", "How long requests took.", (*spread, *sums)),
        Family("drillhall_shed", "counter", "Requests turned away because too many waited.", (Sample("_total", {}, counted.shed),)),
    )


def _of_hall() -> tuple[Family, ...]:
    """How the hall stands; where the database is away, only that."""
    try:
        with store().look() as db:
            post, backup = outbox.the_state(db), hall.last_backup(db)
    except DrillhallError:
        return (gauge("drillhall_database_up", "Whether the database can be read.", 0),)
    known = [
        gauge("drillhall_database_up", "Whether the database can be read.", 1),
        gauge("drillhall_disk_free_bytes", "Free on the data folder's disk.", shutil.disk_usage(session.settings().data_folder).free),
        gauge("drillhall_letters_waiting", "Letters that wait to be sent.", post.waiting),
    ]
    if post.sent_at:
        known.append(gauge("drillhall_letter_sent_timestamp_seconds", "When the last letter went.", post.sent_at.timestamp()))
    if backup:
        known.append(gauge("drillhall_backup_timestamp_seconds", "When the last backup was taken.", backup.at.timestamp()))
    return tuple(known)
