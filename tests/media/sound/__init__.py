"""Tests of `impactcut.media.sound`."""
