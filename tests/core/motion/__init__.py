"""Tests of `impactcut.core.motion`."""
