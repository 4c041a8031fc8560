"""The model: pure values and pure functions, no files, clocks, devices or printing."""
