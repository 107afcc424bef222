"""What the tests of this room share: light hashing."""

from tests.visits import quick_hashing

__all__ = ["quick_hashing"]
