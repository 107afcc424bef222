"""Says who is asking, whose a thing is and whether they may; never commits."""
