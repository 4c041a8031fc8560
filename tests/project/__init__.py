"""Tests of `impactcut.project`."""
