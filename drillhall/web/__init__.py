"""Answers browsers: reads, asks who, calls one door or act, keeps, shows; knows no rows."""
