"""Pixels and samples in and out of media files; never what they mean for a cut."""
