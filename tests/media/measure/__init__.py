"""Tests of `impactcut.media.measure.stretches`."""
