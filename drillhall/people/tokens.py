"""Secrets that stand in for a person: long, random, and kept only as their hash."""

from __future__ import annotations

import secrets
from hashlib import sha256

TOKEN_BYTES = 32


def make_token() -> str:
    """Return a new token of 256 bits, safe in an address and in a cookie."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_token(token: str) -> str:
    """Return what is stored in place of a token. A token is random through and through, so a quick hash is enough."""
    return sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
