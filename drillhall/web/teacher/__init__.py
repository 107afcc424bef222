"""The rooms of whoever teaches: field tests, the list of a class, slips to sign in with, and what is kept."""

from drillhall.web.teacher import field_test_results, field_tests, kept, records, roster, slips
from drillhall.web.teacher.room import blueprint

__all__ = ["blueprint", "field_test_results", "field_tests", "kept", "records", "roster", "slips"]
