"""Keeps cells of a table that leaves the hall from being taken for formulas."""

from __future__ import annotations

from typing import Final

FORMULA_SIGNS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What a spreadsheet may take for the beginning of a formula. Source: OWASP, page on CSV injection; from memory."""


def no_formula(cell: str) -> str:
    """Return a cell that a spreadsheet takes for text: where it begins like a formula, be it after spaces, an apostrophe comes first."""
    return f"'{cell}" if cell.startswith(FORMULA_SIGNS) or cell.lstrip().startswith(FORMULA_SIGNS) else cell
