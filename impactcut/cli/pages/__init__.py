"""Commands by which hits are watched: the director's page, served or sent, and films."""
