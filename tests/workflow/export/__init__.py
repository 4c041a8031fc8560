"""Tests of `impactcut.workflow.export`."""
