"""The tests, in the rooms of what they test; what several share is in `tests.helpers`."""
