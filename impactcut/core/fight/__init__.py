"""Hits as they are listed, and beside one another: beats, takes ranked; never a programme."""
