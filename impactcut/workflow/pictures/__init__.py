"""Pictures, plots, sound and films of hits for people; never lists."""
