"""Synthetic films of impacts, and of movement that is none."""
