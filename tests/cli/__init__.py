"""Tests of `impactcut.cli`."""
