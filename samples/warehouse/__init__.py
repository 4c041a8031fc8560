"""Made-up fight footage: a night fight at a harbour warehouse, drawn by numbers, with its truth."""
