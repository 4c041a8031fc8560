"""Tests of `impactcut.core.viewer`."""
