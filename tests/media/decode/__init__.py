"""Tests of `impactcut.media.decode`."""
