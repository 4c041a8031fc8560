"""Tests of `impactcut.workflow`."""
