"""What programs that watch the hall are told: up, ready, and figures that a reader of the standard's own understands."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from prometheus_client.openmetrics.parser import text_string_to_metric_families
from werkzeug.test import TestResponse

from drillhall import __version__, errors
from drillhall.config import read_settings
from drillhall.people import hall as of_hall
from drillhall.post import jobs
from drillhall.store.session import Store
from drillhall.web.exposition import Family, Sample, bound, gauge, write
from drillhall.web.watching import Meter
from tests.cast import KEEPER, LEARNER
from tests.visits import MORNING, Hall, open_hall

TOKEN = "kelp-on-a-rusty-anchor"
FROM_ELSEWHERE = {"environ_overrides": {"REMOTE_ADDR": "192.0.2.9"}}


def read(text: str) -> dict[str, Any]:
    """Return what prometheus_client's parser of OpenMetrics 1.0 reads, by name."""
    return {family.name: family for family in text_string_to_metric_families(text)}


def value(text: str, name: str, **labels: str) -> float:
    (found,) = [
        sample.value
        for family in read(text).values()
        for sample in family.samples
        if sample.name == name and labels.items() <= sample.labels.items()
    ]
    return float(found)


def away() -> None:
    raise errors.Unavailable("The database is busy or away.")


def test_up_and_ready_are_one_word_for_anybody(hall: Hall) -> None:
    for path, word in (("/health", "The hall is up.\n"), ("/ready", "The hall is ready.\n")):
        answer = hall.visitor().get(path, **FROM_ELSEWHERE)
        assert (answer.status_code, answer.text, answer.mimetype) == (200, word, "text/plain")
        assert answer.headers["Cache-Control"] == "no-store"


def test_without_its_database_it_is_up_and_not_ready(hall: Hall, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hall.store, "look", away)
    assert hall.visitor().get("/health").status_code == 200
    answer = hall.visitor().get("/ready")
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "5")
    told = hall.visitor().get("/metrics").text
    assert value(told, "drillhall_database_up") == 0


def test_the_figures_are_read_by_a_reader_of_the_standard(sqlite_store: Store, tmp_path: Path) -> None:
    hall = open_hall(sqlite_store, tmp_path, metrics_token=TOKEN)
    with sqlite_store.work() as db:
        of_hall.note_backup(db, at=MORNING, size=5)
    visitor = hall.enter(LEARNER)
    for path in ("/settings", "/settings", "/nowhere"):
        visitor.get(path)
    visitor.client.open("/settings", method="BREW", base_url=hall.base)
    answer = visitor.get("/metrics")
    # Source: OpenMetrics 1.0.0, section "Protocol negotiation".
    assert answer.headers["Content-Type"] == "application/openmetrics-text; version=1.0.0; charset=utf-8"
    told = answer.text
    assert value(told, "drillhall_requests_total", page="account.settings", method="GET", status="200") == 2
    assert value(told, "drillhall_requests_total", page="", status="404") == 1
    assert value(told, "drillhall_requests_total", method="other") == 1
    assert value(told, "drillhall_request_seconds_count") == value(told, "drillhall_request_seconds_bucket", le="+Inf")
    assert value(told, "drillhall_request_seconds_count") == sum(sample.value for sample in read(told)["drillhall_requests"].samples)
    assert value(told, "drillhall_backup_timestamp_seconds") == MORNING.timestamp()
    assert value(told, "drillhall_build_info", version=__version__) == 1
    assert value(told, "drillhall_letters_waiting") == 0
    assert value(told, "drillhall_disk_free_bytes") > 0
    assert LEARNER.name.split()[0] not in told


def _asked(hall: Hall, token: str = "", **more: Any) -> TestResponse:
    headers = more.pop("headers", {}) | ({"Authorization": f"Bearer {token}"} if token else {})
    return hall.visitor().get("/metrics", headers=headers, **more)


@pytest.mark.parametrize(
    ("settings", "more", "status"),
    [
        ({}, {}, 200),
        ({}, FROM_ELSEWHERE, 404),
        ({}, {"headers": {"X-Forwarded-For": "192.0.2.9"}}, 404),
        ({"metrics_token": TOKEN}, {}, 200),
        ({"metrics_token": TOKEN}, {"token": TOKEN} | FROM_ELSEWHERE, 200),
        ({"metrics_token": TOKEN}, {"token": TOKEN[:-1]}, 404),
        ({"metrics_token": TOKEN}, {"token": "ключ"}, 404),
        ({"public_url": "https://hall.example"}, {}, 404),
        ({"public_url": "https://hall.example"}, {"token": "None"}, 404),
        ({"public_url": "https://hall.example", "metrics_token": TOKEN}, {"token": TOKEN}, 200),
        ({"trusted_proxy": "127.0.0.1"}, {}, 404),
        ({"listen": "192.0.2.7"}, {}, 404),
    ],
)
def test_only_this_machine_or_the_token_reads_the_figures(
    sqlite_store: Store, tmp_path: Path, settings: dict[str, str], more: dict[str, Any], status: int
) -> None:
    hall = open_hall(sqlite_store, tmp_path, **settings)
    assert _asked(hall, **more).status_code == status


@pytest.mark.parametrize("token", ["short", "has a space in its midst", "fünfzehn-zeichen-und-mehr"])
def test_a_token_that_would_be_guessed_or_cannot_be_sent_is_refused(token: str) -> None:
    with pytest.raises(errors.Invalid, match="DRILLHALL_METRICS_TOKEN") as refused:
        read_settings({"DRILLHALL_METRICS_TOKEN": token})
    assert token not in str(refused.value)


def test_the_text_of_figures_is_what_the_standard_says() -> None:
    odd = Family("odd", "counter", 'A "quoted"\nhelp \\ text.', (Sample("_total", {"page": 'a"b\\c\nd'}, 3),))
    meter = Meter()
    for seconds in (0.004, 0.005, 0.3, 99.0):
        meter.count("page", "GET", 200, seconds)
    bounds, total = meter.seconds()
    assert [count for _, count in bounds] == [2, 2, 2, 2, 2, 2, 3, 3, 3, 3, 3, 4]
    assert total == pytest.approx(99.309)
    told = write([odd, gauge("depth", "Metres.", 0.1)])
    family = read(told)["odd"]
    assert family.documentation == 'A "quoted"\nhelp \\ text.'
    assert family.samples[0].labels == {"page": 'a"b\\c\nd'}
    assert (bound(float("inf")), bound(1.0), bound(0.005)) == ("+Inf", "1.0", "0.005")
    assert told.endswith("# EOF\n")


def test_the_keeper_sees_the_last_backup_and_work_that_failed(hall: Hall) -> None:
    keeper = hall.enter(KEEPER, is_keeper=True)
    assert "None has been taken" in keeper.get("/hall").text
    with hall.store.work() as db:
        of_hall.note_backup(db, at=MORNING, size=3_000_000)
        jobs.take_turn(db, "sum the hall's mix-ups", every=timedelta(hours=6), at=MORNING)
        jobs.note_fault(db, "sum the hall's mix-ups", "ValueError")
    page = keeper.get("/hall").text
    assert "3 MB" in page
    assert "restored from it" not in page
    assert "ended with a fault" in page
    assert "None." not in page
    assert "ValueError" in page
