"""Tests of `impactcut.media.render`."""
