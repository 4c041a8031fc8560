"""Tests of `impactcut.workflow.files`."""
