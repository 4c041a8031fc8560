"""Tests of `impactcut.lists.edl`."""
