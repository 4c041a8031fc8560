"""Projects and what lies in them, made by hand."""
