"""Reports over HTTP: to whoever leads alone, as pages and as files to keep."""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO

import pytest
from sqlalchemy import update
from werkzeug.test import TestResponse

from drillhall.store.models.groups import MembershipRow
from tests.visits import Visitor
from tests.web.groups.test_assigning import Club, club

__all__ = ["club"]


def test_a_report_is_a_page_and_a_file_in_each_format(club: Club) -> None:
    club.give()
    assert "The group&#39;s progress" in club.leader.get(f"{club.base}/reports").text
    assert "not named" in club.leader.get(f"{club.base}/reports/progress").text
    kept = club.leader.post(f"{club.base}/reports/progress/csv")
    assert kept.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert kept.headers["Content-Disposition"] == "attachment; filename=progress-2031-03-03.csv"
    (row,) = csv.DictReader(StringIO(kept.get_data().decode("utf-8-sig")))
    assert (row["who"], row["people"], row["how_far"]) == ("not named", "1", "")
    told = club.leader.post(f"{club.base}/reports/progress/json").get_json()
    assert told["rows"][0]["how_far"] is None


@pytest.mark.parametrize("path", ["reports", "reports/progress", "reports/progress/csv", "reports/audience/json"])
def test_a_member_and_whoever_led_once_see_no_report(club: Club, path: str) -> None:
    ask = _asking(path)
    assert ask(club.member, f"{club.base}/{path}").status_code == 404
    with club.hall.store.work() as db:
        db.execute(update(MembershipRow).where(MembershipRow.role == "leader").values(role="member"))
    assert ask(club.leader, f"{club.base}/{path}").status_code == 404


@pytest.mark.parametrize("path", ["reports/league", "reports/progress/xls", "reports/league/csv"])
def test_what_is_no_report_and_no_format_is_not_there(club: Club, path: str) -> None:
    assert _asking(path)(club.leader, f"{club.base}/{path}").status_code == 404


def _asking(path: str) -> Callable[[Visitor, str], TestResponse]:
    """Return how an address is asked for: a file to keep is taken by a form, since that is noted."""
    return Visitor.post if path.count("/") > 1 else Visitor.get
