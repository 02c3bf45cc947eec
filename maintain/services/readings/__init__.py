"""Readings: writing them down, what they are held against, and where they are heading."""
