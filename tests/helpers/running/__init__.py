"""The program run as people run it, in this process and in others."""
