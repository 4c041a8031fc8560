"""Tests of `impactcut.lists`."""
