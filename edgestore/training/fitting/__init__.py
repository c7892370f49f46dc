"""Fitting a card: the guide, its cautions, the checks after it, and the hand-outs."""
