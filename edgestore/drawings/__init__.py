"""Drawings of housings, slots and cards, for the guide and the lessons."""
