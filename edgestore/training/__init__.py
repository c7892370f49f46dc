"""Lessons and guides for the people who fit the cards."""
