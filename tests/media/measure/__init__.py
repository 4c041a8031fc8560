"""Tests of `impactcut.media.measure`."""
