"""Every change of the schema, in dated order."""
