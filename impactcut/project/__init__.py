"""The project file: the only SQL of the program."""
