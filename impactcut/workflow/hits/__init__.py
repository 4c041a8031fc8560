"""The hits of a project: chosen, listed, proposed for, decided; never measured or written."""
