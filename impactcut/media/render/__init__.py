"""Pictures and films for people to look at; nothing here is measured."""
