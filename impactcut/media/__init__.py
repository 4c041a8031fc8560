"""Pixels and samples in and out of media files."""
