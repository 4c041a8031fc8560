"""The project file as a file: opened, told apart, brought up to date; never what is in it."""
