"""Tests of `impactcut.review`."""
