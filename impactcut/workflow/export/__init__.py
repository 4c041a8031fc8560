"""Lists and sound handed on, and recuts; never a file that was not read back."""
