"""Draws the demo pictures and invents the demo people; only acts may ask it."""
