"""Lets `python -m impactcut` do what the `impactcut` command does."""

from impactcut.cli import main

if __name__ == "__main__":
    main()
