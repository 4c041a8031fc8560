"""Commands about clips: scan, shots, mark, drop, same; nothing is worked out."""
