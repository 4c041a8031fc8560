"""Sound out of files and into WAV; never the pictures beside it."""
