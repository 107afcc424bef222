"""Use cases that need more than one door; each is one function, none commits."""
