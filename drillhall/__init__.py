"""Drillhall trains people to tell look-alike wild species apart in the field."""

__version__ = "0.1.0"
