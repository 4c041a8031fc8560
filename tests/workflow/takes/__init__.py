"""Tests of `impactcut.workflow.takes`."""
