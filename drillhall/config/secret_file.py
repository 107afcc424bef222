"""Reads the hall's secret from a file apart from its database, as a vault, systemd or a container's platform puts it there."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

from drillhall.errors import Invalid
from drillhall.words import say

VARIABLE: Final = "DRILLHALL_SECRET_FILE"
LEAST_SIGNS: Final = 43
"""What 256 random bits take in base64 without padding (RFC 4648); in hexadecimal they are 64."""
MOST_SIGNS: Final = 1024
BEYOND_IT: Final = 0o027
"""What nobody may: others anything, the group to write. The group may read, as systemd and Kubernetes have it (from memory)."""


def read_secret(path: Path) -> str:
    """Return the secret that a file holds, in one line; raises Invalid where it cannot be read, others may read it, or it is too short."""
    try:
        mode, content = path.stat().st_mode, path.read_bytes()[: 4 * MOST_SIGNS]
    except OSError as error:
        why = error.strerror or type(error).__name__
        raise _refused(say("{path}, which DRILLHALL_SECRET_FILE names, cannot be read ({why}).", path=path, why=why)) from error
    if os.name == "posix" and mode & BEYOND_IT:
        raise _refused(
            say("{path}, which DRILLHALL_SECRET_FILE names, is open to other accounts of this machine. Shut it: chmod 600.", path=path)
        )
    secret = content.strip().decode("ascii", "replace")
    if not (LEAST_SIGNS <= len(secret) <= MOST_SIGNS and secret.isascii() and secret.isprintable() and " " not in secret):
        raise _refused(
            say(
                "{path}, which DRILLHALL_SECRET_FILE names, must hold one line of {least} to {most} letters, digits and signs without a "
                "space, drawn at random. `drillhall secret move` writes one.",
                path=path,
                least=LEAST_SIGNS,
                most=MOST_SIGNS,
            )
        )
    return secret


def _refused(sentence: str) -> Invalid:
    return Invalid(sentence, field=VARIABLE)
