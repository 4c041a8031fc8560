"""How work tells how far it has got."""

from __future__ import annotations

from collections.abc import Callable

OnProgress = Callable[[int, int], None]
"""Called with how much is done and how much there is."""
