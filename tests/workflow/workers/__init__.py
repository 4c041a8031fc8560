"""Tests of `impactcut.workflow.workers`."""
