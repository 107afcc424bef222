"""Does the engine teach? Its plans against plain ones, on simulated learners and on real look-alikes."""

from tests.bench.learning.table import rows

__all__ = ["rows"]
