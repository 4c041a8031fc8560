"""Text of lists, out and back; nothing here opens a file."""
