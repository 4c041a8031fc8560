"""Statements, a module for each thing kept; each works inside its caller's transaction."""
