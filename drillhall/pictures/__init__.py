"""Takes pictures in, keeps their bytes and makes their sizes; knows nothing of drills."""
