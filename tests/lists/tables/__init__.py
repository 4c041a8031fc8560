"""Tests of `impactcut.lists.tables`."""
