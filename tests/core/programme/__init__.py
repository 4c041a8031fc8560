"""Tests of `impactcut.core.programme`."""
