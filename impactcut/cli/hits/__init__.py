"""Commands about hits: listed, compared, added, moved, decided; nothing is worked out."""
