"""Commands that fit the program to a project or a team; never how the fit is made."""
