"""The sum on a card as a backup, or on its own. All sites are invented."""

from edgestore.models.retention import capacity_gb_for_retention
from edgestore.training.exercises.cases import PLACES
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import Sum
from edgestore.training.exercises.sums import any_camera
from edgestore.training.exercises.texts import texts, told_sum
from edgestore.units import BITS_PER_BYTE, H_PER_DAY


def backup_or_alone(draws: Draws) -> Sum:
    """Ask which capacity a card needs as the backup of a recorder, or where there is none."""
    words = texts("sums")["backup_or_alone"]
    camera, alone, days = any_camera(draws), draws.of((False, True)), draws.of((6, 8, 10, 14, 21))
    began, over, day = draws.of(range(15, 21)), draws.of(range(8, 15)), draws.of(tuple(words["weekdays"]))
    nights = words["weekdays"][day]
    fault_h = nights * H_PER_DAY + over - began
    hours, other_h = (days * H_PER_DAY, fault_h) if alone else (fault_h, days * H_PER_DAY)
    gb, gb_of_other = (capacity_gb_for_retention(length, camera.mean_mbit_s) for length in (hours, other_h))
    kind = words["alone" if alone else "backup"]
    slips = {
        kind["slip"]: gb_of_other,
        "factor_8": gb * BITS_PER_BYTE,
        "cap_for_mean": capacity_gb_for_retention(hours, camera.cap_mbit_s),
    }
    figures = {"days": days, "began": began, "over": over, "day": day, "nights": nights, "hours": hours}
    time = kind["time"].format(**figures)
    return told_sum(
        "backup_or_alone",
        gb,
        slips,
        place=draws.of(PLACES),
        recorder=kind["recorder"],
        time=time,
        **figures,
        **camera.told,
    )
