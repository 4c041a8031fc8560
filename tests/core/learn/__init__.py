"""Tests of `impactcut.core.detect`."""
