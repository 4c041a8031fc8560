"""Contact frames of staged hits, and the frames to take out so that they land."""

__version__ = "0.1.0"

__all__ = ["__version__"]
