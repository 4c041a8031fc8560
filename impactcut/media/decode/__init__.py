"""Frames out of a file: opened, decoded, spaced, shrunk; never what they show."""
