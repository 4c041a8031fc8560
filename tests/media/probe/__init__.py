"""Tests of `impactcut.media.probe`."""
