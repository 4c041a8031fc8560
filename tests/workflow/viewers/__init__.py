"""Tests of `impactcut.workflow.viewers`."""
