"""How property tests of core run: without a clock on the single example, and the same examples every time."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("hall", deadline=None, derandomize=True, database=None)
settings.load_profile("hall")
