"""Films for a fit: who strikes whom or what, before which camera, and the truth of it.

Nothing here knows of networks; films are pictures and labels.
"""
