"""Tests of `impactcut.core`."""
