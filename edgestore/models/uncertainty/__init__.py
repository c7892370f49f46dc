"""Inputs that are not known exactly: their laws, which of them matters most, and what finding out is worth."""

from edgestore.models.uncertainty.findings import Preposterior, evsi, measurement_chance, preposterior
from edgestore.models.uncertainty.information import (
    evpi,
    evpi_of_normal,
    evppi,
    evppi_from_regression,
    value_without_information,
)
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
    "Preposterior",
    "Samples",
    "SobolShares",
    "Spread",
    "Swing",
    "Tornado",
    "Triangular",
    "Uniform",
    "chance_at_least",
    "evpi",
    "evpi_of_normal",
    "evppi",
    "evppi_from_regression",
    "evsi",
    "lognormal_product_shares",
    "measurement_chance",
    "preposterior",
    "sample",
    "sobol_shares",
    "spread",
    "tolerance_factor",
    "tornado",
    "value_without_information",
]
