"""Secrets that stand in for a person: long, random, and kept only as their hash."""

from __future__ import annotations

import hmac
import secrets
from hashlib import sha256

TOKEN_BYTES = 32

CODE_SIGNS = "23456789BCDFGHJKMNPQRSTVWXYZ"
"""What a code to be typed is made of: no vowel, so that none spells a word, and none of 0, 1, I, L and O, which look alike."""

CODE_LENGTH = 8
"""28 ** 8 codes, or 38 bits: few enough to type, too many to guess as often as the limits let one try."""


def make_token() -> str:
    """Return a new token of 256 bits, safe in an address and in a cookie."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_token(token: str) -> str:
    """Return what is stored in place of a token. A token is random through and through, so a quick hash is enough."""
    return sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def make_code() -> str:
    """Return a new code to be typed, in two halves."""
    signs = "".join(secrets.choice(CODE_SIGNS) for _ in range(CODE_LENGTH))
    return f"{signs[:4]}-{signs[4:]}"


def read_code(typed: str) -> str:
    """Return a code as it is compared: in capitals, without the spaces and hyphens that one types or does not.

    >>> read_code(" bcdf 7hjk"), read_code("BCDF-7HJK")
    ('BCDF7HJK', 'BCDF7HJK')
    """
    return "".join(typed.upper().split()).replace("-", "")


def hash_code(code: str, *, key: str) -> str:
    """Return what is stored in place of a code: short as it is, a quick hash could be tried through, so it needs the hall's secret."""
    return hmac.new(key.encode(), f"code to join {read_code(code)}".encode("utf-8", "surrogatepass"), sha256).hexdigest()
