"""Tests of `impactcut.media`."""
