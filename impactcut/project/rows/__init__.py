"""Rows of the project file as values, and what is wrong with them; never a statement."""
