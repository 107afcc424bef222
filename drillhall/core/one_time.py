"""Codes of the moment, as a second step at sign-in: TOTP (RFC 6238) over HOTP (RFC 4226), with what every program for codes reads."""

from __future__ import annotations

import hmac
from base64 import b32encode
from datetime import datetime
from typing import Final
from urllib.parse import quote, urlencode

STEP_SECONDS: Final = 30
DIGITS: Final = 6
DRIFT: Final = 1
"""Steps that a clock may be off, either way (RFC 6238, section 5.2, recommends one at most)."""

SECRET_BYTES: Final = 20
"""160 bits, which RFC 4226 (section 4, R6) recommends."""


def step_of(at: datetime) -> int:
    """Return the number of the time step in which a moment lies, counted from 1970 (RFC 6238, section 4.2)."""
    return int(at.timestamp()) // STEP_SECONDS


def code_of(secret: bytes, step: int, *, digits: int = DIGITS) -> str:
    """Return the code of a step: HMAC-SHA-1, truncated as RFC 4226, section 5.3, says. SHA-1 because programs for codes know no other."""
    hashed = hmac.digest(secret, step.to_bytes(8, "big"), "sha1")
    offset = hashed[-1] & 0x0F
    number = int.from_bytes(hashed[offset : offset + 4], "big") & 0x7FFFFFFF
    return str(number % 10**digits).zfill(digits)


def find_step(secret: bytes, typed: str, *, at: datetime, after: int) -> int | None:
    """Return the step of which what was typed is the code, or None; steps up to `after` are used up, so a code is taken once.

    All steps are compared, each in the same time.
    """
    now = step_of(at)
    said = read_code(typed).encode("utf-8", "surrogatepass")
    fitting = [step for step in range(now - DRIFT, now + DRIFT + 1) if hmac.compare_digest(code_of(secret, step).encode(), said)]
    return next((step for step in reversed(fitting) if step > after), None)


def read_code(typed: str) -> str:
    """Return a code without the spaces that one types or does not.

    >>> read_code(" 123 456 ")
    '123456'
    """
    return "".join(typed.split())


def in_letters(secret: bytes) -> str:
    """Return a secret as it is typed into a program for codes: base 32 (RFC 4648), in fours.

    >>> in_letters(b"12345678901234567890")
    'GEZD GNBV GY3T QOJQ GEZD GNBV GY3T QOJQ'
    """
    letters = b32encode(secret).decode()
    return " ".join(letters[place : place + 4] for place in range(0, len(letters), 4))


def address_of(secret: bytes, *, name: str, hall: str) -> str:
    """Return what a picture of the secret says, in the form that programs for codes read (common practice, no standard)."""
    label = f"{quote(hall, safe='')}:{quote(name, safe='')}"
    told = {"secret": in_letters(secret).replace(" ", ""), "issuer": hall, "digits": str(DIGITS), "period": str(STEP_SECONDS)}
    return f"otpauth://totp/{label}?{urlencode(told, quote_via=quote)}"
