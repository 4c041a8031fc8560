"""Tests of `impactcut.workflow.reports`."""
