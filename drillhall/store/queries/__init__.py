"""Reads rows, one file per reader; writes nothing."""
