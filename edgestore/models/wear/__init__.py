"""What writing does to flash: endurance, write amplification, a simulated card, heat."""

from edgestore.models.wear.amplification import (
    write_amplification_fifo,
    write_amplification_greedy,
    write_amplification_mixed,
    write_amplification_separated,
    write_amplification_static,
)
from edgestore.models.wear.endurance import (
    endurance_tbw_from_cycles,
    endurance_tbw_from_hours,
    life_years,
    passes_per_year,
    writes_gb_day,
    writes_tb_year,
    writes_tb_year_for_life,
)
from edgestore.models.wear.heat import arrhenius_factor, equivalent_temperature_c, unpowered_keep_years
from edgestore.models.wear.mapping import (
    bitrate_mbit_s_for_wear,
    write_amplification_camera,
    write_amplification_page,
)
from edgestore.models.wear.measured import (
    SlowDown,
    slow_down_tb,
    write_amplification_from_wear,
    write_amplification_measured,
)
from edgestore.models.wear.simulated_card import CardDesign, SimulatedCard, simulate
from edgestore.models.wear.simulated_writes import (
    camera_writes,
    circular_writes,
    hot_cold_writes,
    random_writes,
    simulated_write_amplification_camera,
    simulated_write_amplification_random,
)

__all__ = [
    "CardDesign",
    "SimulatedCard",
    "SlowDown",
    "arrhenius_factor",
    "bitrate_mbit_s_for_wear",
    "camera_writes",
    "circular_writes",
    "endurance_tbw_from_cycles",
    "endurance_tbw_from_hours",
    "equivalent_temperature_c",
    "hot_cold_writes",
    "life_years",
    "passes_per_year",
    "random_writes",
    "simulate",
    "simulated_write_amplification_camera",
    "simulated_write_amplification_random",
    "slow_down_tb",
    "unpowered_keep_years",
    "write_amplification_camera",
    "write_amplification_fifo",
    "write_amplification_from_wear",
    "write_amplification_greedy",
    "write_amplification_measured",
    "write_amplification_mixed",
    "write_amplification_page",
    "write_amplification_separated",
    "write_amplification_static",
    "writes_gb_day",
    "writes_tb_year",
    "writes_tb_year_for_life",
]
