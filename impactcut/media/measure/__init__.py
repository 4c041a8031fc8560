"""Numbers out of pictures: flow, planes, skips, counters; never what a hit is."""
