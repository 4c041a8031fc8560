"""Sound by itself: what is heard of a clip, what a hit calls for; never programmes or files."""
