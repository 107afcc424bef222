"""Damages files: byte by byte, piece by piece, and by what stands in their zip, table or tree."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import warnings
import zipfile
from collections.abc import Mapping
from random import Random
from typing import Final

from tests.faults.fuzz import nasty
from tests.faults.fuzz.drafts import as_bytes

NUMBERS: Final = (
    b"\0",
    b"\xff",
    b"\x7f\xff\xff\xff",
    b"\xff\xff\xff\xff",
    b"\x80\0\0\0",
    b"\0\0",
    b"\xff\xff",
    b"\x01\0",
    b"\0\x01",
    b"\0\0\0\0",
)
MOST: Final = 4
TOKEN: Final = re.compile(rb'"[^"\n]*"|[\w.+:-]+|[\[\]{}=,]')
PIECES: Final = (
    b"[",
    b"]",
    b"[[",
    b"{",
    b"}",
    b"=",
    b",",
    b'"',
    b"'''",
    b'"""',
    b"\n",
    b"nan",
    b"inf",
    b"1e999",
    b"true",
    b"[]",
    b"{}",
    b"2031-03-09",
    b"9" * 5000,
    b"'",
)


def bytewise(raw: bytes, dice: Random, others: Mapping[str, bytes]) -> bytes:
    """Change some bytes: bits flipped, numbers put in, pieces cut, doubled, swapped or taken from another file, or its end gone."""
    for _ in range(dice.randint(1, MOST)):
        at, length = dice.randint(0, len(raw)), dice.choice((1, 1, 2, 4, 16, 200, 5000))
        kind, cut = dice.randrange(8), raw[at : at + length]
        if kind == 0 and at < len(raw):
            raw = raw[:at] + bytes([raw[at] ^ (1 << dice.randrange(8))]) + raw[at + 1 :]
        elif kind == 1:
            put = dice.choice(NUMBERS)
            raw = raw[:at] + put + raw[at + len(put) :]
        elif kind == 2:
            raw = raw[:at] + raw[at + length :]
        elif kind == 3:
            raw = raw[:at] + cut * dice.choice((2, 2, 50)) + raw[at + length :]
        elif kind == 4:
            to = dice.randint(0, len(raw))
            rest = raw[:at] + raw[at + length :]
            raw = rest[:to] + cut + rest[to:]
        elif kind == 5:
            other = dice.choice(list(others.values()))
            place = dice.randint(0, len(other))
            raw = raw[:at] + other[place : place + length] + raw[at + dice.choice((0, length)) :]
        elif kind == 6:
            raw = raw[:at] + dice.randbytes(dice.choice((1, 2, 8))) + raw[at + dice.choice((0, 1, 2, 8)) :]
        elif dice.random() < 0.4:
            raw = raw[:at]
    return raw


def tokenwise(raw: bytes, dice: Random) -> bytes:
    """Change words of a text: one spoilt, one gone, one in another's place, or a sign of the language put in."""
    for _ in range(dice.randint(1, MOST)):
        tokens = list(TOKEN.finditer(raw))
        if not tokens:
            break
        one, other, kind = dice.choice(tokens), dice.choice(tokens), dice.randrange(5)
        quoted = as_bytes(nasty.text(dice))[:3000]
        puts = (b"", other[0], dice.choice(PIECES), quoted, json.dumps(quoted.decode("latin-1"), ensure_ascii=dice.random() < 0.5).encode())
        raw = raw[: one.start()] + puts[kind] + raw[one.end() :]
    return raw


def cellwise(raw: bytes, dice: Random) -> bytes:
    """Change cells of a table: one spoilt, two swapped, a row longer, shorter or doubled, a header another one."""
    rows = list(csv.reader(io.StringIO(raw.decode())))
    for _ in range(dice.randint(1, MOST)):
        row = dice.choice(rows)
        place, kind = dice.randrange(len(row)) if row else 0, dice.randrange(6)
        if kind <= 2 and row:
            word = nasty.near(row[place], dice) if dice.random() < 0.3 else nasty.text(dice)
            row[place] = word.decode("latin-1") if isinstance(word, bytes) else word
        elif kind == 3 and row:
            row[place] = dice.choice(dice.choice([one for one in rows if one] or [["x"]]))
        elif kind == 4:
            rows.append(list(row))
        elif dice.random() < 0.3:
            row.append("more") if dice.random() < 0.5 or not row else row.pop()
    out = io.StringIO()
    csv.writer(out, lineterminator=dice.choice(("\n", "\r\n")), quoting=dice.choice((csv.QUOTE_MINIMAL, csv.QUOTE_ALL))).writerows(rows)
    return out.getvalue().encode("utf-8", "surrogatepass")


def entrywise(raw: bytes, dice: Random, *, sums: str = "") -> bytes:
    """Change what stands in a zip: an entry's bytes, its name, one gone, one twice, one packed otherwise; `sums` is made right again."""
    with zipfile.ZipFile(io.BytesIO(raw)) as packed:
        entries = [(name, packed.read(name)) for name in packed.namelist() if name != sums]
    for _ in range(dice.randint(1, 2)):
        place = dice.randrange(len(entries))
        name, content = entries[place]
        kind = dice.random()
        if kind < 0.7:
            entries[place] = (name, _inside(name, content, dice))
        elif kind < 0.8:
            entries[place] = (str(nasty.near(name, dice)).encode("utf-8", "replace").decode()[:9000], content)
        elif kind < 0.87 and len(entries) > 1:
            entries.pop(place)
        elif kind < 0.94:
            entries.append((name, content))
        else:
            entries.append(
                (
                    dice.choice(("../x.jpg", "/etc/x", "C:\\x", "a/../../b", ".hidden", "__MACOSX/._a", "a\\b", "x" * 5000)),
                    b"0" * dice.choice((0, 9, 9_000_000)),
                )
            )
    if sums:
        lines = "".join(f"{hashlib.sha256(content).hexdigest()}  {name}\n" for name, content in entries)
        entries.append((sums, lines.encode("utf-8", "replace")))
    out = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w") as packed:
        warnings.simplefilter("ignore")  # that a name stands twice is meant
        for name, content in entries:
            packed.writestr(
                zipfile.ZipInfo(name.replace("\0", "") or "x"),
                content,
                dice.choice((zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA)),
            )
    return out.getvalue()


def _inside(name: str, content: bytes, dice: Random) -> bytes:
    if name.endswith(".jsonl"):
        return _linewise(content, dice)
    if name.endswith(".json"):
        return treewise(content, dice)
    if name.endswith(".csv") and dice.random() < 0.7:
        return cellwise(content, dice)
    return tokenwise(content, dice) if name.endswith((".toml", ".csv")) else bytewise(content, dice, {name: content})


def _linewise(content: bytes, dice: Random) -> bytes:
    lines = content.splitlines() or [b"[]"]
    place = dice.randrange(len(lines))
    kind = dice.random()
    if kind < 0.7:
        lines[place] = treewise(lines[place], dice)
    elif kind < 0.8:
        lines.append(lines[place])
    else:
        lines.pop(place)
    return b"\n".join(lines) + b"\n"


def treewise(raw: bytes, dice: Random) -> bytes:
    """Change one place of a JSON tree, or bytes of it."""
    if dice.random() < 0.2:
        return bytewise(raw, dice, {"": b'{"a": [1, NaN, "\\ud800"]}'})
    try:
        return json.dumps(nasty.within(json.loads(raw), dice)).encode()
    except ValueError:
        return tokenwise(raw, dice)
