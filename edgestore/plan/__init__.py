"""Cameras joined with cards: what each card gives each camera, and which one to fit, with reasons."""
