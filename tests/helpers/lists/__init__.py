"""Lists and cuts to read, and independent readers of them."""
