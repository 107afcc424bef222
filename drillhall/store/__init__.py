"""Keeps rows: models, queries, migrations and the one way to commit; decides nothing."""
