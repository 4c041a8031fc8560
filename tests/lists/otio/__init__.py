"""Tests of `impactcut.lists.otio`."""
