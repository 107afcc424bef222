"""Values that nobody means: what a field, a number in an address, a header or a JSON tree is spoilt with."""

from __future__ import annotations

import re
import string
from random import Random
from typing import Any, Final

LONG: Final = 100_000

TEXTS: Final[tuple[str | bytes, ...]] = (
    *("", " ", "\t", "\n", "\r\n", "\0", "a\0b", "\x1b[31m", "\x7f", "\x85", "\u2028", "\ufeff", "\ufffe", "\uffff"),
    *("\ud800", "\udfff\ud800", "a\udcffb", b"\xff", b"\xc0\xaf", b"\xed\xa0\x80", b"\xf4\x90\x80\x80", b"%", b"%zz", b"\xe2\x82"),
    *("\u202eabc", "\u2067x\u2069", "\u200f", "\u200b", "e\u0301" * 50, "\U0001f426" * 40, "ﬁ", "İ", "ß", "Ⅷ", "\u0130\u0307"),
    *(
        "-1",
        "0",
        "00",
        "-0",
        "+5",
        " 5 ",
        "5.0",
        "1_0",
        "0x10",
        "1e3",
        "1e999",
        "-1e999",
        "nan",
        "NaN",
        "inf",
        "-Infinity",
        "٣",
        "²",
        "５",
        "1,5",
    ),
    *("2147483647", "2147483648", "-2147483649", "9223372036854775807", "9223372036854775808", "18446744073709551616", "9" * 4301),
    *(
        "0000-00-00",
        "0001-01-01",
        "9999-12-31",
        "9999-12-31T23:59:59+14:00",
        "2031-02-30",
        "2031-13-01",
        "20310309",
        "2031-W10-1",
        "10000-01-01",
    ),
    *("0001-01-01T00:00:00+23:59", "2031-03-03T09:00", "2031-03-03T09:00:00Z", "2031-060", "٢٠٣١-٠٣-٠٣", "24:00", "2031-W54"),
    *(
        "true",
        "null",
        "None",
        "undefined",
        "[]",
        "{}",
        "[object Object]",
        "on",
        "off",
        "'",
        '"',
        "''; --",
        "%s",
        "{0}",
        "{name}",
        "{{7*7}}",
    ),
    *(
        "{%",
        "${x}",
        "`",
        "\\",
        "\\x00",
        "../../etc/passwd",
        "..\\..",
        "/",
        "//host.example",
        "file:///",
        "javascript:alert(1)",
        "a:b:c",
        ":",
    ),
    *(
        "<b zz=1>",
        "&amp;",
        "=1+1",
        "@SUM(1)",
        "x@y",
        "a@b.example\r\nBcc: c@d.example",
        "@",
        "a@",
        "@b.example",
        "ü@ö.example",
        "a" * 255 + "@b.example",
    ),
    *("practice", "held-out", "portrait", "leader", "keeper", "always", "0 0 1 1", "0.5 0.5 0.9 0.9", "nan nan nan nan", "1e-320 0 1 1"),
    *(
        "Europe/Lisbon",
        "Etc/GMT+14",
        "../UTC",
        "posix/UTC",
        "localtime",
        "UTC\0",
        "de",
        "xx",
        "de-DE-u-co-phonebk",
        "*",
        "CC-BY-4.0",
        "CC0-1.0",
    ),
)
"""Texts, and bytes that are no text, to stand where a value stood."""

IDS: Final = (
    *("0", "1", "2", "3", "7", "-1", "01", "1.0", "٣", "99999", "2147483647", "2147483648", "9223372036854775808", "18446744073709551616"),
    *(
        "9" * 30,
        "%00",
        "%ff",
        "..",
        ".",
        "%2e%2e",
        "%2f",
        "a b",
        "%ed%a0%80",
        "%e2%80%ae",
        "x" * 3000,
        "",
        "1%0a",
        "~",
        "none",
        "%C3%BC",
        "a:b",
        ":",
    ),
    *(
        "00000000-0000-4000-8000-0000000000ff",
        "00000000-0000-4000-8000-000000000007",
        "small-estuary",
        "hers",
        "json",
        "csv",
        "confirm-address",
    ),
)
"""What may stand in an address in place of an id, quoted."""

HEADERS: Final = (
    ("Accept-Language", ("de", "xx;q=9", "de;q=nan", "*", ",;,=", "de" * 900, "\xff", "en;q=1e999", "-", "de_DE", "\x00")),
    ("If-None-Match", ('"x"', "*", 'W/"', '"' * 99, "\xff", "x" * 5000)),
    (
        "If-Modified-Since",
        ("yesterday", "Sat, 01 Jan 0000 00:00:00 GMT", "Fri, 31 Dec 9999 23:59:59 GMT", "\xff", "Mon, 03 Mar 2031 24:00:00 +9999"),
    ),
    ("If-Range", ('"x"', "yesterday", "Fri, 31 Dec 9999 23:59:59 -2359")),
    (
        "Range",
        (
            "bytes=0-",
            "bytes=5-2",
            "bytes=-1",
            "bytes=0-0,2-3",
            "bytes=99999999999999999999-",
            "bytes=a-b",
            "bytes",
            "lines=1-2",
            "bytes=0-,-5",
        ),
    ),
    ("Forwarded", ("for=evil;host=evil.example;proto=https", 'for="[::1"', "\xff")),
    ("X-Forwarded-For", ("1.2.3.4", ",,,", "\xff", "unix:", "::1")),
    ("X-Forwarded-Host", ("evil.example", "a,b", "[", "localhost:99999")),
    ("X-Forwarded-Proto", ("https", "javascript", "")),
    (
        "Host",
        (
            "evil.example",
            "",
            "localhost:0",
            "localhost:99999999",
            "[::1",
            "[::1]:80",
            "LOCALHOST",
            "a" * 300,
            "\xff",
            "localhost\x00",
            "localhost/",
        ),
    ),
    ("Accept", ("application/json", "*/*;q=0", "text/html;q=nan", "\xff", ";", "a/b" * 900, "application/json;q=0.5, text/html;q=0.4")),
    ("Accept-Encoding", ("gzip", "br, gzip;q=0", "gzip;q=nan", "*;q=0", "\xff", "identity;q=0")),
    ("Content-Length", ("0", "-1", "x", "99999999999", "5", "")),
    ("Origin", ("null", "http://evil.example", "\xff")),
    ("Referer", ("http://localhost/", "http://evil.example/", "\xff", "http://[", "/")),
    ("Authorization", ("Bearer x", "Basic !!!", "Basic " + "A" * 999, "Digest username=", "\xff")),
    ("User-Agent", ("", "\xff" * 50, "x" * 9000)),
    ("X-CSRFToken", ("", "x", "\xff", "a.b.c", "IjEi.x.y")),
    ("X-Requested-With", ("XMLHttpRequest",)),
    ("X-Http-Method-Override", ("DELETE",)),
    ("Cookie", ("", "=", ";;;", "a", "\xff=\xff", "=".join("ab" * 900), "drillhall-in-x=y", 'a="\\"', "x" * 20_000)),
    ("Transfer-Encoding", ("chunked",)),
    ("Expect", ("100-continue",)),
)
"""Headers and what is put into them, a byte a sign."""

TYPES: Final = (
    *("application/json", "application/x-www-form-urlencoded", "multipart/form-data", "multipart/form-data; boundary=", "text/plain", ""),
    *(
        "application/json; charset=utf-16",
        "application/x-www-form-urlencoded; charset=nonsense",
        "multipart/form-data; boundary=\xff",
        "\xff",
        "a/b;c",
    ),
    *("multipart/form-data; boundary=x; boundary=y", "multipart/mixed; boundary=x", "application/xml", "application/json;" * 200),
    "multipart/form-data; boundary=" + "x" * 300,
)

SCALARS: Final = (
    *(None, True, False, 0, -1, 1, 2**31, 2**63, 2**64, -(2**63) - 1, 10**400, 0.5, -0.0, 1e308, float("nan"), float("inf"), float("-inf")),
    *(
        "",
        "\0",
        "\ud800",
        "x" * LONG,
        "1",
        "certain",
        "2031-03-03T09:00:00+00:00",
        "9999-12-31T23:59:59-14:00",
        "0001-01-01T00:00:00+14:00",
    ),
)


def text(dice: Random) -> str | bytes:
    """Return a text that nobody means, now and then a very long one or any signs at all."""
    kind = dice.random()
    if kind < 0.04:
        return dice.choice(("a", "9", "ü", " ", "\n", "\U0001f426", ",", "[", "<", "%")) * LONG
    if kind < 0.08:
        return "".join(
            chr(dice.choice((dice.randrange(0x80), dice.randrange(0x3000), dice.randrange(0x110000)))) for _ in range(dice.randint(1, 30))
        )
    if kind < 0.12:
        return dice.randbytes(dice.randint(1, 40))
    return dice.choice(TEXTS)


NUMBER: Final = re.compile(r"-?[0-9]+")
"""What `int` reads whatever its length is cut to; not every sign that Unicode calls a digit is one to it."""


def near(value: str, dice: Random) -> str | bytes:
    """Return a value that is nearly the one given."""
    if dice.random() < 0.3 and NUMBER.fullmatch(value):
        return str(int(value[:18]) + dice.choice((-1, 1, 2, 10, 1000, -(10**6), 2**31, 2**63)))
    at = dice.randint(0, len(value))
    other = text(dice)
    put = other.decode("latin-1") if isinstance(other, bytes) else other
    return value[:at] + (put if dice.random() < 0.6 else dice.choice(string.printable)) + value[at + dice.randint(0, 2) :]


def tree(dice: Random, depth: int = 0) -> Any:
    """Return JSON of any shape."""
    kind = dice.random()
    if depth > 3 or kind < 0.6:
        return dice.choice(SCALARS)
    if kind < 0.65:
        deep: Any = 1
        for _ in range(dice.choice((30, 200))):
            deep = [deep]
        return deep
    if kind < 0.8:
        return [tree(dice, depth + 1) for _ in range(dice.randint(0, 4))]
    return {str(text(dice))[:50]: tree(dice, depth + 1) for _ in range(dice.randint(0, 4))}


def within(value: Any, dice: Random) -> Any:
    """Return a JSON tree with one place in it spoilt: another value, one missing, one more, one twice."""
    if isinstance(value, dict) and value and dice.random() < 0.9:
        key, how = dice.choice(list(value)), dice.random()
        rest = {name: inner for name, inner in value.items() if name != key}
        if how < 0.1:
            return rest
        return rest | ({dice.choice((str(key) + "x", "id", "__class__")): value[key]} if how < 0.15 else {key: within(value[key], dice)})
    if isinstance(value, list) and value and dice.random() < 0.9:
        place = dice.randrange(len(value))
        if dice.random() < 0.1:
            return value + [value[place]] * dice.choice((1, 1, 300))
        return [*value[:place], within(value[place], dice), *value[place + 1 :]]
    return tree(dice)
