"""Tests of the scripts that make and judge training footage."""
