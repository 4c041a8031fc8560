"""Tests of `impactcut.core.time`."""
