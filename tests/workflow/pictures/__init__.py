"""Tests of `impactcut.workflow.pictures`."""
