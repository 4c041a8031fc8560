"""Clips and pictures whose truth is known, made or found."""
