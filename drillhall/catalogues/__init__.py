"""Reads, checks, compares and writes catalogue folders; never commits."""
