"""One file a change, named by date and what it does."""
