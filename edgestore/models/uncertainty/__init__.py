"""Inputs that are not known exactly: their laws, and which of them matters most."""

from edgestore.models.uncertainty.laws import (
    Lognormal,
    Samples,
    Spread,
    Triangular,
    Uniform,
    chance_at_least,
    quantile_of_law,
    spread,
)
from edgestore.models.uncertainty.sensitivity import LognormalProductShares, lognormal_product_shares

__all__ = [
    "Lognormal",
    "LognormalProductShares",
    "Samples",
    "Spread",
    "Triangular",
    "Uniform",
    "chance_at_least",
    "lognormal_product_shares",
    "quantile_of_law",
    "spread",
]
