"""Changes a catalogue piece by piece: each change is checked, kept in the history, and can be taken back; never commits."""
