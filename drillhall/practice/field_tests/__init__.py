"""Field tests: setting one, sitting it, marking it; the key never leaves this room before results are released, and pictures never do."""
