"""Tests of `impactcut.core.fight`."""
