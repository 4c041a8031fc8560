"""Tests of `impactcut.core.takes`."""
