"""The `impactcut` command."""
