"""The sum on a card as a backup, or on its own. All sites are invented."""

from edgestore.models.retention import capacity_gb_for_retention
from edgestore.training.exercises.cases import PLACES
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import Slip, Sum
from edgestore.training.exercises.sums import AN_HOUR, CAP_FOR_MEAN, FACTOR_8, any_camera
from edgestore.units import BITS_PER_BYTE, H_PER_DAY

LENGTHS = {"Saturday": 1, "Sunday": 2, "Monday": 3, "Tuesday": 4}
"""Days from Friday."""


def backup_or_alone(draws: Draws) -> Sum:
    """Ask which capacity a card needs as the backup of a recorder, or where there is none."""
    camera, alone, days = any_camera(draws), draws.of((False, True)), draws.of((6, 8, 10, 14, 21))
    began, over, day = draws.of(range(15, 21)), draws.of(range(8, 15)), draws.of(tuple(LENGTHS))
    fault_h = LENGTHS[day] * H_PER_DAY + over - began
    hours, other_h = (days * H_PER_DAY, fault_h) if alone else (fault_h, days * H_PER_DAY)
    gb, gb_of_other = (capacity_gb_for_retention(length, camera.mean_mbit_s) for length in (hours, other_h))
    recorder = "There is no recorder" if alone else "A recorder keeps the footage, and the card is its backup"
    time = (
        f"Without a recorder the card must hold all that is wanted: {days} × 24 = {hours:g} hours."
        if alone
        else f"The card must hold the fault. Friday {began}:00 to {day} {over}:00 is {LENGTHS[day]} × 24 + {over}"
        f" - {began} = {hours:g} hours."
    )
    return Sum(
        f"A camera at {draws.of(PLACES)} records all the time. {camera.rates}. {recorder}. The site wants {days} days"
        f" of footage. Its longest network fault was from Friday {began}:00 to {day} {over}:00. How many GB"
        " must the card hold? Answer in GB, rounded to a whole number.",
        "GB",
        0,
        gb,
        (
            time,
            AN_HOUR,
            f"Times the mean: {camera.mean_mbit_s:g} × 0.45 × {hours:g} = {gb:.0f} GB.",
        ),
        (
            "Is the card the only place of the footage, or does it fill a gap? What must it hold then?",
            "How many hours are that? A day has 24.",
            "Multiply: mean × 0.45 GB × hours.",
        ),
        (
            Slip(
                gb_of_other,
                "There is no recorder, so a fault of the network does not matter here. The card must hold all the days."
                if alone
                else "The recorder keeps the days. As a backup, the card must hold the fault.",
                "took the fault where the card is alone" if alone else "took the days where the card is a backup",
            ),
            Slip(gb * BITS_PER_BYTE, *FACTOR_8),
            Slip(capacity_gb_for_retention(hours, camera.cap_mbit_s), *CAP_FOR_MEAN),
        ),
    )
