"""Processes and machines that analyse clips; never what an analysis is."""
