"""Tests of `impactcut.core.recut`."""
