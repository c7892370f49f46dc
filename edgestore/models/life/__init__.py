"""Life as a distribution: its law, its table, its chances, and its fit to records."""

from edgestore.models.life.chances import chance_that_k_of_n_last
from edgestore.models.life.few_failures import (
    RandomRate,
    mtbf_lower_years,
    updated_random_rate,
    weibull_scale_lower_years,
)
from edgestore.models.life.fit import LifeFit, fit_lognormal, fit_weibull
from edgestore.models.life.law import CardLife
from edgestore.models.life.table import LifeTable
from edgestore.models.life.trial import cards_for_trial, confidence_of_trial, good_fraction_lower

__all__ = [
    "CardLife",
    "LifeFit",
    "LifeTable",
    "RandomRate",
    "cards_for_trial",
    "chance_that_k_of_n_last",
    "confidence_of_trial",
    "fit_lognormal",
    "fit_weibull",
    "good_fraction_lower",
    "mtbf_lower_years",
    "updated_random_rate",
    "weibull_scale_lower_years",
]
