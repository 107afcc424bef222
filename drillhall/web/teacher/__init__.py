"""The rooms of whoever teaches: field tests, from setting one to what it came to."""

from drillhall.web.teacher import field_test_results, field_tests
from drillhall.web.teacher.room import blueprint

__all__ = ["blueprint", "field_test_results", "field_tests"]
