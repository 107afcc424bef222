"""Thinks about pairs, rounds, grading, memory, confusion and traits: values in, values out, without clock, dice, files or database."""
