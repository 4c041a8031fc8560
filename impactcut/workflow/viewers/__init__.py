"""Sessions that ask viewers what they see, and what their answers say; never the model itself."""
