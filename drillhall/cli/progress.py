"""Shows on a terminal how far a long piece of work is."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any

import click


@contextmanager
def progress(label: str) -> Iterator[Callable[[int, int, str], None]]:
    """Yield a function that is told how much is done, and shows it; where there is no terminal it shows nothing."""
    with ExitStack() as stack:
        bars: list[Any] = []

        def tell(done: int, total: int, what: str) -> None:
            if not sys.stderr.isatty():
                return
            if not bars:
                bars.append(stack.enter_context(click.progressbar(length=total, label=label, file=sys.stderr)))
            bars[0].update(done - bars[0].pos)

        yield tell
