"""Colours that people with any common colour blindness tell apart, as ``#RRGGBB``.

Of the palette of Okabe & Ito 2008, "Color universal design" (https://jfly.uni-koeln.de/color/).
"""

from __future__ import annotations

from typing import Final

BLACK: Final = "#000000"
ORANGE: Final = "#E69F00"
GREEN: Final = "#009E73"
BLUE: Final = "#0072B2"
VERMILION: Final = "#D55E00"
PURPLE: Final = "#CC79A7"
