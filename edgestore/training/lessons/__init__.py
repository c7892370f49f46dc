"""Lessons: their screens as data, and the page that shows them."""
