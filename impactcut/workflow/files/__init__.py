"""Files found, known again, read and written; never what is in a clip."""
