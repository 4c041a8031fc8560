"""Frames taken out of somebody's programme, in numbers; never the text of its list."""
