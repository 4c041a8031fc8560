"""Tests of `impactcut.workflow.scan.scanning`."""
