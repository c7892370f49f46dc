"""Inputs that are not known exactly: their laws, and which of them matters most."""

from edgestore.models.uncertainty.laws import (
    Lognormal,
    Samples,
    Spread,
    Triangular,
    Uniform,
    chance_at_least,
    sample,
    spread,
)
from edgestore.models.uncertainty.sensitivity import (
    LognormalProductShares,
    SobolShares,
    Swing,
    Tornado,
    lognormal_product_shares,
    sobol_shares,
    tornado,
)
from edgestore.models.uncertainty.tolerance import tolerance_factor

__all__ = [
    "Lognormal",
    "LognormalProductShares",
    "Samples",
    "SobolShares",
    "Spread",
    "Swing",
    "Tornado",
    "Triangular",
    "Uniform",
    "chance_at_least",
    "lognormal_product_shares",
    "sample",
    "sobol_shares",
    "spread",
    "tolerance_factor",
    "tornado",
]
