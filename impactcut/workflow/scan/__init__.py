"""From files to hits kept in the project: planned, analysed, kept; never in which process."""
