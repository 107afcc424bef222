"""Draws one small shorebird of a form, side-on, in a setting; knows nothing of catalogues, people or files."""
