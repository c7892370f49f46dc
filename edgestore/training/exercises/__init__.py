"""Exercises: drawn from a seed, marked, and kept as marks and class sheets."""
