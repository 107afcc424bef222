"""Says how many there are of something."""

from __future__ import annotations


def counted(count: int, noun: str) -> str:
    """Return a count with its noun, which takes an s unless there is exactly one.

    >>> counted(1, "picture"), counted(0, "picture")
    ('1 picture', '0 pictures')
    """
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
