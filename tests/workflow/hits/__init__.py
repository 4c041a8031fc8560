"""Tests of `impactcut.workflow.hits`."""
