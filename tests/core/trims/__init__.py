"""Tests of `impactcut.core.trims`."""
