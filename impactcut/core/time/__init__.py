"""Frame rates, timecode and runs of frames: integers only; never clips, motion or hits."""
