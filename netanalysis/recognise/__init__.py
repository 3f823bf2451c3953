"""Recognisers: one idea a file, each reads earlier results only."""
