"""Headers, hosts and cookies: what every answer carries, on this machine and behind https."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillhall.store.session import Store
from drillhall.web.app import CSP
from tests.cast import LEARNER
from tests.visits import Hall, open_hall

# OWASP Secure Headers and ASVS 5.0.0, 3.4.1-3.4.6; the policy itself is the house's.
EXPECTED = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; "
    "require-trusted-types-for 'script'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}


@pytest.fixture
def far_hall(sqlite_store: Store, tmp_path: Path) -> Hall:
    """A hall that others reach by https."""
    return open_hall(sqlite_store, tmp_path, public_url="https://hall.example", listen="127.0.0.1", trusted_proxy="127.0.0.1")


@pytest.mark.parametrize("path", ["/sign-in", "/", "/nowhere", "/static/css/base.css", "/csrf", "/join/wrong", "/static/../config.py"])
def test_every_answer_carries_the_headers(hall: Hall, path: str) -> None:
    answer = hall.visitor().get(path)
    answer.close()
    assert {name: answer.headers.get(name) for name in EXPECTED} == EXPECTED
    assert "Server" not in answer.headers
    assert "Strict-Transport-Security" not in answer.headers


def test_the_policy_allows_nothing_inline_and_no_other_host() -> None:
    assert "unsafe" not in CSP
    assert "nonce" not in CSP
    assert "http" not in CSP
    assert "data:" not in CSP


def test_pages_are_kept_by_no_cache(hall: Hall) -> None:
    assert hall.enter(LEARNER).get("/settings").headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "localhost.evil.example",
        "evil.example:80",
        "hall.example",
        "127.0.0.1.evil.example",
        "a b",
        "",
        "[::2]:8410",
        ":8410",
    ],
)
def test_another_host_is_refused_in_plain_words(hall: Hall, host: str) -> None:
    answer = hall.visitor().client.get("/sign-in", headers={"Host": host})
    assert answer.status_code == 400
    assert "does not answer to that name" in answer.text
    assert answer.headers["Content-Security-Policy"] == CSP


@pytest.mark.parametrize("host", ["localhost", "localhost:8410", "127.0.0.1:8410", "[::1]:8410"])
def test_this_machine_is_known_by_its_names(hall: Hall, host: str) -> None:
    assert hall.visitor().client.get("/sign-in", headers={"Host": host}).status_code == 200


def _cookie_lines(hall: Hall) -> dict[str, str]:
    hall.add(LEARNER)
    visitor = hall.visitor()
    lines = visitor.get("/csrf").headers.getlist("Set-Cookie")
    lines += visitor.post("/sign-in", {"name": LEARNER.name, "passphrase": LEARNER.passphrase, "stay": "yes"}).headers.getlist("Set-Cookie")
    return {line.partition("=")[0]: line for line in lines if "Max-Age=0" not in line}


def test_cookies_are_out_of_reach_of_scripts_and_other_sites(hall: Hall) -> None:
    lines = _cookie_lines(hall)
    assert {name.rpartition("-")[0] for name in lines} == {"drillhall-form", "drillhall-in"}
    for line in lines.values():
        assert "HttpOnly" in line
        assert "SameSite=Lax" in line
        assert "Path=/" in line
        assert "Domain" not in line
        assert "Secure" not in line  # plain http on this machine would never send it back


def test_behind_https_cookies_are_secure_and_bound_to_the_host(far_hall: Hall) -> None:
    lines = _cookie_lines(far_hall)
    assert {name.rpartition("-")[0] for name in lines} == {"__Host-drillhall-form", "__Host-drillhall-in"}
    assert all("Secure" in line and "Path=/" in line and "Domain" not in line for line in lines.values())


def test_behind_https_the_browser_is_told_to_stay_there(far_hall: Hall) -> None:
    # RFC 6797, 6.1.1; a year at least: ASVS 5.0.0, 3.4.1.
    assert far_hall.visitor().get("/sign-in").headers["Strict-Transport-Security"] == "max-age=31536000"


def test_two_halls_on_one_machine_do_not_take_each_others_cookies(hall: Hall, tmp_path: Path, empty_sqlite: Path) -> None:
    other = Store(f"sqlite:///{tmp_path / 'other.sqlite'}")
    (tmp_path / "other.sqlite").write_bytes(empty_sqlite.read_bytes())
    names = [set(_cookie_lines(one)) for one in (hall, open_hall(other, tmp_path))]
    other.close()
    assert names[0].isdisjoint(names[1])


def test_the_secret_that_signs_forms_stays_with_the_hall(hall: Hall, tmp_path: Path) -> None:
    again = open_hall(hall.store, tmp_path)
    assert again.app.secret_key == hall.app.secret_key
    assert len(str(hall.app.secret_key)) == 64
