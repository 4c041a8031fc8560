"""Hits beside one another: beats, takes ranked, a fight at a glance; never a programme."""
