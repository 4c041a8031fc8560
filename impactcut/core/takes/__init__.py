"""Clips, and what people say of them: names, shot logs, widths; never what is measured."""
