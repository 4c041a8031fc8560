"""Tests of `impactcut.core.trims.trim`."""
