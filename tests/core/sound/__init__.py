"""Tests of `impactcut.core.sound`."""
