"""Tests of `impactcut.core.learn`."""
