"""What the spotter can say of a contact beside that there is one: its kind, and the reaction's lag."""

from typing import Final, Literal

Kind = Literal["blow", "push", "fall", "thing"]
KINDS: Final[tuple[Kind, ...]] = ("blow", "push", "fall", "thing")
LAGS: Final = tuple(range(-10, 11))
"""Lags that it tells apart: frames from contact to reaction, of those that it is shown."""
