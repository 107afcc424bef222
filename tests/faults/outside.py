"""Looks from outside at a hall behind the README's nginx, over https with a certificate made for it."""

from __future__ import annotations

import http.client
import re
import socket
import ssl
from typing import Final

from drillhall.web.app import MOST_BYTES
from tests.faults.browsers import Browser
from tests.faults.halls import LEARNERS, Hall, serving
from tests.faults.proxying import NAME, Proxy, behind, blocks, proxied
from tests.faults.rows import Ground, Row, Told
from tests.faults.visitors import Visitor

MOST_LINES: Final = 10
FORGED: Final = {
    "X_Forwarded_For": "192.0.2.99",
    "X_Forwarded_Host": "evil.example",
    "X_Forwarded_Proto": "http",
    "X_Forwarded_Port": "81",
    "X_Forwarded_Prefix": "/evil",
    "Forwarded": "for=192.0.2.99;host=evil.example;proto=http",
}
TRIES: Final = 10
"""How often one name may be tried from one place."""


def rows() -> list[Row]:
    """Return the row."""
    return [
        Row("proxy:https", "the README's nginx before a hall, over https, with forged headers, large uploads and lines cut off", _looks)
    ]


def _looks(ground: Ground, told: Told) -> None:
    site, _ = blocks()
    told.wants(len(site.splitlines()) <= MOST_LINES, f"the README shows the proxy in {len(site.splitlines())} lines")
    hall = behind(ground.place.hall("sqlite"))
    with serving(hall) as servers, proxied(hall.folder / "nginx", servers) as proxy:
        dice = ground.dice("outside")
        browser = Browser(LEARNERS[0], [proxy.https], dice, proxy=proxy)
        _is_safe(browser, told)
        _is_redirected(proxy, told)
        _is_checked(browser, proxy, told)
        _takes_files(browser, told)
        _is_cut_off(proxy, servers[0].port, hall, told)
        _believes_nobody(Browser(LEARNERS[1], [proxy.https], dice, proxy=proxy, place="127.0.9.1"), hall, told)
        _passed_by(Visitor(LEARNERS[2], [servers[0].port], dice), told)
        browser.close()


def _is_safe(browser: Browser, told: Told) -> None:
    """Cookies, the word that only https will do, links, the worker, and a whole sign-in."""
    browser.sign_in()
    told.wants(len(browser.cookies) >= 2 and all(name.startswith("__Host-") for name in browser.cookies), f"cookies: {[*browser.cookies]}")
    fresh = Browser(browser.who, browser.ports, browser.dice, proxy=browser.proxy)
    page = fresh.ask("GET", "/sign-in")
    fresh.close()
    cookie = page.headers.get("Set-Cookie", "")
    told.wants(all(word in cookie for word in ("Secure", "HttpOnly", "Path=/")) and "Domain" not in cookie, f"a cookie: {cookie}")
    told.wants("max-age=31536000" in page.headers.get("Strict-Transport-Security", ""), "no word that only https will do")
    worker = browser.ask("GET", "/sw.js")
    told.wants(worker.status == 200 and "javascript" in worker.headers["Content-Type"], f"the worker: {worker.status}")
    made = browser.post_form("/groups", title="Those outside", kind="club")
    invitations = f"{made.headers['Location'].partition('?')[0]}/invitations"
    browser.post_form(invitations, places="5", days="14", with_code="on")
    addresses = set(re.findall(r"https?://[^/\s\"<]+(?=/(?:groups/)?join)", browser.ask("GET", invitations).words))
    told.wants(addresses == {f"https://{NAME}"}, f"an invitation leads to {addresses}")


def _is_redirected(proxy: Proxy, told: Told) -> None:
    """Whoever comes by plain http is sent to https, form and all; plain http to the other port is refused."""
    line = http.client.HTTPConnection("127.0.0.1", proxy.http, timeout=10)
    line.request("GET", "/standing?from=here", headers={"Host": NAME})
    answer = line.getresponse()
    told.wants((answer.status, answer.headers["Location"]) == (308, f"https://{NAME}/standing?from=here"), f"http: {answer.status}")
    line.close()
    line = http.client.HTTPConnection("127.0.0.1", proxy.https, timeout=10)
    line.request("GET", "/", headers={"Host": NAME})
    told.wants(line.getresponse().status == 400, "plain http to the port of https is answered")
    line.close()


def _is_checked(browser: Browser, proxy: Proxy, told: Told) -> None:
    """A name that is not the hall's is refused, whichever header says it; a browser that does not trust the certificate stays out."""
    told.wants(browser.ask("GET", "/sign-in", Host="evil.example").status == 400, "another host's name is answered")
    said = browser.ask("GET", "/sign-in", **FORGED)
    told.wants(said.status == 200 and "evil" not in str(said), "what a visitor says of herself is believed")
    stranger = Browser(browser.who, browser.ports, browser.dice, proxy=proxy)
    away = stranger.ask("POST", "/sign-in", b"name=x", Referer="https://evil.example/", Content_Type="application/x-www-form-urlencoded")
    told.wants(away.status == 400, f"a form of another place is answered {away.status}")
    stranger.close()
    try:
        with socket.create_connection(("127.0.0.1", proxy.https)) as bare:
            ssl.create_default_context().wrap_socket(bare, server_hostname=NAME).close()
        told.lost.append("a certificate that nobody trusts is taken")
    except ssl.SSLCertVerificationError:
        told.count("checks")


def _takes_files(browser: Browser, told: Told) -> None:
    """The largest request that the hall takes comes through; a larger one is refused by the hall, in its own words."""
    for size, wanted in ((MOST_BYTES - 100_000, 422), (MOST_BYTES + 100_000, 413)):
        answer = browser.post_file("/my-pictures/send", "file", "large.jpg", bytes(size))
        told.wants(answer.status == wanted, f"{size:,} bytes are answered {answer.status}: {answer.words[:300]}")
        told.wants("nginx" not in answer.words, "a large file is refused by the proxy, not by the hall")


def _is_cut_off(proxy: Proxy, port: int, hall: Hall, told: Told) -> None:
    """Who goes in the midst of sending a picture, or before her answer, leaves no file, makes no fault, and keeps nobody waiting."""
    before = set(hall.storage.keys())
    large = "Content-Type: multipart/form-data; boundary=x\r\nContent-Length: 5000000"
    sends = f"POST /my-pictures/send HTTP/1.1\r\nHost: {NAME}\r\n{large}\r\n\r\n"
    asks = f"GET /static/js/drill/player.js HTTP/1.1\r\nHost: {NAME}\r\n\r\n"
    for _ in range(TRIES):
        for said in (sends.encode() + bytes(200_000), asks.encode()):
            with socket.create_connection(("127.0.0.1", port)) as past:
                past.sendall(said)
            with (
                socket.create_connection(("127.0.0.1", proxy.https)) as bare,
                proxy.trust.wrap_socket(bare, server_hostname=NAME) as through,
            ):
                through.sendall(said)
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    line.request("GET", "/ready")
    told.wants(line.getresponse().status == 200, "after many were cut off the hall is not ready")
    line.close()
    told.count("cut off", 4 * TRIES)
    told.wants(set(hall.storage.keys()) == before, "an upload that broke off left a file")
    told.wants(not (hall.folder / "faults.log").exists(), "who goes in the midst makes a fault")


def _believes_nobody(browser: Browser, hall: Hall, told: Told) -> None:
    """Whoever says each time that she comes from elsewhere is counted where she is; and another place is not locked out by it."""
    browser.token = browser.ask("GET", "/csrf").json["token"]

    def tries(number: int) -> int:
        forged = f"192.0.2.{number}"
        body = f"name={browser.who.name.replace(' ', '+')}&passphrase=wrong+{number}&csrf_token={browser.token}".encode()
        return browser.ask("POST", "/sign-in", body, Content_Type="application/x-www-form-urlencoded", X_Forwarded_For=forged).status

    statuses = [tries(number) for number in range(TRIES + 2)]
    told.wants(429 in statuses, f"who says that she comes from elsewhere each time is not stopped: {statuses}")
    elsewhere = Browser(browser.who, browser.ports, browser.dice, proxy=browser.proxy, place="127.0.9.2")
    elsewhere.sign_in()
    told.count("checks")
    browser.close()
    elsewhere.close()
    told.wants("192.0.2." not in (hall.folder / "requests.log").read_text(encoding="utf-8"), "an address is written down")


def _passed_by(visitor: Visitor, told: Told) -> None:
    """Who comes past the proxy, to the hall's own port, has its name checked as well."""
    told.wants(visitor.ask("GET", "/sign-in", Host="evil.example").status == 400, "past the proxy another host's name is answered")
