"""What leaves the hall for those who asked for it: feeds; knows nobody and decides nothing."""
