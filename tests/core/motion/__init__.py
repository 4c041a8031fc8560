"""Tests of `impactcut.core.motion.measured`."""
