"""A module for each command: it parses, calls the workflow, prints; nothing is worked out."""
