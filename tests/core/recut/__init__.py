"""Tests of `impactcut.core.recut.cutting`."""
