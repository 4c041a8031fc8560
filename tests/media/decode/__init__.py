"""Tests of `impactcut.media.decode.packets`."""
