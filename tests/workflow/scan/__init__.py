"""Tests of `impactcut.workflow.scan`."""
