"""What commands show: tables, JSON, progress; never what they decide."""
