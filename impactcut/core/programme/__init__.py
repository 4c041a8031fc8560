"""Clips and their trims laid end to end, in picture and sound; never another's cut mended."""
