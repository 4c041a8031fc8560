"""The director's page: served beside a live project, or as one file to send; never a rule."""
