"""Tests of `impactcut.lists.edl.write`."""
