"""What a file says of itself, and which library says so; never what its pictures show."""
