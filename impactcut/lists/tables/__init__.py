"""Lists as CSV: rows of cells out, and back where people edit them; never EDLs."""
