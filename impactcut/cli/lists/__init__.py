"""Commands that hand over lists and documents, and recut; nothing is worked out."""
