"""Tests of `impactcut.media.probe.container`."""
