"""Halls that have grown: a catalogue, ten founders whose logs the hall itself has folded, and as many like them as are wanted."""
