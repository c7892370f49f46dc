"""Choose, justify and look after the memory card that lets a network camera record on its own."""

from edgestore import _interrupt as _interrupt
from edgestore.checks import Fault, InputError
from edgestore.models.upkeep._interval import BestInterval
from edgestore.models.wear.amplification import (
    bitrate_mbit_s_for_wear,
    write_amplification_camera,
    write_amplification_fifo,
    write_amplification_greedy,
    write_amplification_mixed,
    write_amplification_separated,
    write_amplification_static,
)
from edgestore.models.outage.backfill import (
    Backfill,
    backfill_h,
    backfill_of_site,
    lost_in_backfill_h,
    useful_retention_h,
)
from edgestore.models.speed.backlog import catch_up_s, largest_backlog_mb, write_mbyte_s_for_buffer
from edgestore.models.rate.bitrate import (
    mean_range_mbit_s,
    mean_under_cap_mbit_s,
    stored_mbit_s,
    total_mbit_s,
)
from edgestore.models.life.chances import LifeFigures, chance_that_k_of_n_last, life_figures
from edgestore.models.rate.duty import (
    clips_per_day,
    kept_s,
    mean_clip_s,
    mean_recorded_fraction,
    recorded_fraction,
)
from edgestore.models.life.few_failures import RandomRate, mtbf_lower_years, updated_random_rate, weibull_scale_lower_years
from edgestore.models.rate.frames import bitrate_from_frames_mbit_s, estimated_range_mbit_s
from edgestore.models.upkeep.group import best_group_years, cost_per_year_for_group
from edgestore.models.wear.heat import arrhenius_factor, equivalent_temperature_c, unpowered_keep_years
from edgestore.models.upkeep.horizon import CheapestCard, HorizonCost, cheapest_card, cost_for_horizon
from edgestore.models.upkeep.inspection import best_inspection_years, cost_per_year_for_inspection
from edgestore.models.life.table import LifeTable
from edgestore.models.life.law import CardLife
from edgestore.models.outage.outage import Outages, availability, away_fraction, hidden_failure_fraction
from edgestore.models.upkeep.renewal import (
    ExpectedChanges,
    expected_changes,
    expected_replacements,
    long_run_replacements,
)
from edgestore.models.outage.repair import ExponentialRepair, LognormalRepair
from edgestore.models.upkeep.replacement import best_change_years, cost_per_year_for_change, next_change_years
from edgestore.models.retention import (
    WeekOfRetention,
    bitrate_mbit_s_for_retention,
    capacity_gb_for_retention,
    retention_h,
    retention_through_week,
)
from edgestore.models.outage.saved import (
    OutageFigures,
    capacity_gb_for_share,
    outage_figures,
    retention_h_for_share,
)
from edgestore.models.uncertainty.sensitivity import LognormalProductShares, lognormal_product_shares
from edgestore.models.life.fit import LifeFit, fit_lognormal, fit_weibull
from edgestore.models.wear.simulated_card import (
    simulated_write_amplification_camera,
    simulated_write_amplification_random,
)
from edgestore.models.outage.simulated import simulated_lost_h_per_year
from edgestore.models.upkeep.spares import chance_spares_last, spares_for_confidence, spares_for_separate
from edgestore.models.speed.classes import (
    guaranteed_write_mbyte_s,
    implied_marks,
    min_write_mbyte_s,
    speed_margin,
    write_mbyte_s_for_margin,
)
from edgestore.models.speed.stalls import (
    KeepsUp,
    keeps_up,
    stall_buffer_mb,
    stall_s_for_buffer,
    sustained_write_mbyte_s,
)
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
from edgestore.models.rate.variability import HurstEstimate, RetentionSpread, cv_of_mean, hurst_exponent, retention_spread
from edgestore.models.outage.visits import WorkingHoursRepair
from edgestore.models.wear.endurance import (
    endurance_tbw_from_cycles,
    endurance_tbw_from_hours,
    life_years,
    passes_per_year,
    writes_gb_day,
    writes_tb_year,
    writes_tb_year_for_life,
)

__all__ = [
    "Backfill",
    "BestInterval",
    "CardLife",
    "CheapestCard",
    "ExpectedChanges",
    "ExponentialRepair",
    "Fault",
    "HorizonCost",
    "HurstEstimate",
    "InputError",
    "KeepsUp",
    "LifeFigures",
    "LifeFit",
    "LifeTable",
    "Lognormal",
    "LognormalProductShares",
    "LognormalRepair",
    "OutageFigures",
    "Outages",
    "RandomRate",
    "RetentionSpread",
    "Samples",
    "Spread",
    "Triangular",
    "Uniform",
    "WeekOfRetention",
    "WorkingHoursRepair",
    "arrhenius_factor",
    "availability",
    "away_fraction",
    "backfill_h",
    "backfill_of_site",
    "best_change_years",
    "best_group_years",
    "best_inspection_years",
    "bitrate_from_frames_mbit_s",
    "bitrate_mbit_s_for_retention",
    "bitrate_mbit_s_for_wear",
    "capacity_gb_for_retention",
    "capacity_gb_for_share",
    "catch_up_s",
    "chance_at_least",
    "chance_spares_last",
    "chance_that_k_of_n_last",
    "cheapest_card",
    "clips_per_day",
    "cost_for_horizon",
    "cost_per_year_for_change",
    "cost_per_year_for_group",
    "cost_per_year_for_inspection",
    "cv_of_mean",
    "endurance_tbw_from_cycles",
    "endurance_tbw_from_hours",
    "equivalent_temperature_c",
    "estimated_range_mbit_s",
    "expected_changes",
    "expected_replacements",
    "fit_lognormal",
    "fit_weibull",
    "guaranteed_write_mbyte_s",
    "hidden_failure_fraction",
    "hurst_exponent",
    "implied_marks",
    "keeps_up",
    "kept_s",
    "largest_backlog_mb",
    "life_figures",
    "life_years",
    "lognormal_product_shares",
    "long_run_replacements",
    "lost_in_backfill_h",
    "mean_clip_s",
    "mean_range_mbit_s",
    "mean_recorded_fraction",
    "mean_under_cap_mbit_s",
    "min_write_mbyte_s",
    "mtbf_lower_years",
    "next_change_years",
    "outage_figures",
    "passes_per_year",
    "quantile_of_law",
    "recorded_fraction",
    "retention_h",
    "retention_h_for_share",
    "retention_spread",
    "retention_through_week",
    "simulated_lost_h_per_year",
    "simulated_write_amplification_camera",
    "simulated_write_amplification_random",
    "spares_for_confidence",
    "spares_for_separate",
    "speed_margin",
    "spread",
    "stall_buffer_mb",
    "stall_s_for_buffer",
    "stored_mbit_s",
    "sustained_write_mbyte_s",
    "total_mbit_s",
    "unpowered_keep_years",
    "updated_random_rate",
    "useful_retention_h",
    "weibull_scale_lower_years",
    "write_amplification_camera",
    "write_amplification_fifo",
    "write_amplification_greedy",
    "write_amplification_mixed",
    "write_amplification_separated",
    "write_amplification_static",
    "write_mbyte_s_for_buffer",
    "write_mbyte_s_for_margin",
    "writes_gb_day",
    "writes_tb_year",
    "writes_tb_year_for_life",
]
