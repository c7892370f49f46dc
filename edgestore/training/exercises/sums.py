"""The sums: each draws its numbers, and its answer comes from the models."""

from dataclasses import dataclass

from edgestore.models.rate.duty import kept_s, recorded_fraction
from edgestore.models.retention import capacity_gb_for_retention, retention_h
from edgestore.models.speed.classes import write_mbyte_s_for_margin
from edgestore.models.wear.endurance import endurance_tbw_from_hours, life_years, writes_gb_day, writes_tb_year
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import Slip, Sum
from edgestore.units import (
    BITS_PER_BYTE,
    DAYS_PER_YEAR,
    GB_PER_H_AT_1_MBIT_S,
    GB_PER_TB,
    GIB_PER_GB,
    H_PER_DAY,
    PERCENT_PER_ONE,
    S_PER_H,
    S_PER_MIN,
)

CAPACITIES_GB = (32, 64, 128, 256, 512)
CAPS_MBIT_S = tuple(half / 2 for half in range(6, 33))
MEAN_SHARES = (0.25, 0.3, 0.35, 0.4, 0.45, 0.55, 0.6, 0.7)
RECORDED_PERCENT = (15, 20, 25, 30, 35, 40, 45, 55, 60)
RATED_MBIT_S = 26

AN_HOUR = "1 Mbit/s writes 0.45 GB in an hour: 3600 s × 1 000 000 bits ÷ 8 bits a byte = 450 000 000 bytes."
CAP_FOR_MEAN = (
    "You took the cap. The cap is the most the encoder may write; a card fills at the mean.",
    "took the cap for the mean",
)
FACTOR_8 = (
    "This is out by a factor of 8. Rates are in bits, cards in bytes: 8 bits are 1 byte.",
    "got it wrong by a factor of 8",
)
NO_MOTION = "took it to record all the time"
GIB_FOR_GB = "turned GB into GiB"
ANOTHER_UNIT = "gave it in another unit"
NOT_3_TIMES = "took 1024 for 1000 once or twice, not 3 times"
WRONG_WAY = "turned GB and GiB the wrong way round"


@dataclass(frozen=True)
class Camera:
    """What a question says of a camera."""

    cap_mbit_s: float
    mean_mbit_s: float
    recorded_percent: float

    @property
    def recorded_fraction(self) -> float:
        """Recorded part of the time, 0 to 1."""
        return self.recorded_percent / PERCENT_PER_ONE

    @property
    def rates(self) -> str:
        """The rates, in words."""
        return f"Its encoder has a cap of {self.cap_mbit_s:g} Mbit/s; it writes {self.mean_mbit_s:g} Mbit/s on average"

    @property
    def on_motion(self) -> str:
        """The rates and the recorded part of the time, in words."""
        return f"{self.rates} while it records. It records {self.recorded_percent:g} % of the time."


def any_camera(draws: Draws) -> Camera:
    """Draw a camera."""
    cap = draws.of(CAPS_MBIT_S)
    return Camera(cap, round(cap * draws.of(MEAN_SHARES), 1), draws.of(RECORDED_PERCENT))


def hours_held(draws: Draws) -> Sum:
    """Ask how long a card holds."""
    camera, capacity_gb = any_camera(draws), draws.of(CAPACITIES_GB)
    hours = retention_h(capacity_gb, camera.mean_mbit_s)
    gb_h = camera.mean_mbit_s * GB_PER_H_AT_1_MBIT_S
    return Sum(
        f"A camera records all the time onto a card of {capacity_gb} GB. {camera.rates}. How many hours does the card"
        " hold before it begins to overwrite? Take all of the card as usable. Answer in hours, with one decimal.",
        "hours",
        1,
        hours,
        (
            AN_HOUR,
            f"The mean fills the card, not the cap: {camera.mean_mbit_s:g} × 0.45 = {gb_h:.6g} GB an hour.",
            f"{capacity_gb} GB ÷ {gb_h:.6g} GB an hour = {hours:.1f} hours.",
        ),
        (
            "Which of the two rates fills the card: the most it may write, or what it writes on average?",
            "1 Mbit/s writes 0.45 GB in an hour. How many GB does this camera write in an hour?",
            f"Divide {capacity_gb} GB by the GB an hour.",
        ),
        (
            Slip(hours / BITS_PER_BYTE, *FACTOR_8),
            Slip(retention_h(capacity_gb, camera.cap_mbit_s), *CAP_FOR_MEAN),
            Slip(
                hours * GIB_PER_GB,
                "You turned GB into GiB. The 0.45 is in GB, as the card's label is: leave it GB.",
                GIB_FOR_GB,
            ),
            Slip(hours / H_PER_DAY, "That is the answer in days. It is asked for in hours.", ANOTHER_UNIT),
        ),
    )


def capacity_wanted(draws: Draws) -> Sum:
    """Ask which capacity holds some days."""
    camera, days = any_camera(draws), draws.of((3, 5, 7, 10, 14, 21, 28, 30))
    hours = days * H_PER_DAY
    gb = capacity_gb_for_retention(hours, camera.mean_mbit_s, recorded_fraction=camera.recorded_fraction)
    always_gb = capacity_gb_for_retention(hours, camera.mean_mbit_s)
    return Sum(
        f"A camera records on motion. {camera.on_motion} The site wants {days} days of footage. How many GB does that"
        " take? Answer in GB, rounded to a whole number.",
        "GB",
        0,
        gb,
        (
            AN_HOUR,
            f"{days} days × 24 = {hours:g} hours by the clock.",
            f"All the time it would take {camera.mean_mbit_s:g} × 0.45 × {hours:g} = {always_gb:.6g} GB.",
            f"It records {camera.recorded_percent:g} % of the time: {always_gb:.6g} ×"
            f" {camera.recorded_fraction:g} = {gb:.0f} GB.",
        ),
        (
            "How many hours are that by the clock, and in what part of them is something written?",
            "1 Mbit/s writes 0.45 GB in an hour of recording.",
            f"Multiply: mean × 0.45 × {hours:g} hours × {camera.recorded_fraction:g}.",
        ),
        (
            Slip(gb * BITS_PER_BYTE, *FACTOR_8),
            Slip(
                always_gb,
                "You took it to record all the time. On motion, only a part of the time is written.",
                NO_MOTION,
            ),
            Slip(
                capacity_gb_for_retention(hours, camera.cap_mbit_s, recorded_fraction=camera.recorded_fraction),
                *CAP_FOR_MEAN,
            ),
            Slip(gb / days, "That is one day.", "gave one day"),
            Slip(gb * GIB_PER_GB, "You turned GB into GiB. Cards are sold in GB: leave it GB.", GIB_FOR_GB),
        ),
    )


def gib_shown(draws: Draws) -> Sum:
    """Ask what an operating system shows."""
    gb = draws.of(range(20, 1000))
    gib = gb * GIB_PER_GB
    return Sum(
        f"A computer copies {gb} GB of footage from a card. Its operating system counts in GiB. How many GiB does it"
        " show? Answer in GiB, with one decimal.",
        "GiB",
        1,
        gib,
        (
            f"1 GB is 1 000 000 000 bytes, so {gb} GB are {gb} 000 000 000 bytes.",
            "1 GiB is 1024 × 1024 × 1024 = 1 073 741 824 bytes.",
            f"{gb} 000 000 000 ÷ 1 073 741 824 = {gib:.1f} GiB. Nothing is missing: the unit is larger.",
        ),
        (
            "A GiB is a little more than a GB. So are there more of them, or fewer?",
            "1 GB is 1 000 000 000 bytes; 1 GiB is 1024 × 1024 × 1024 bytes.",
            f"Divide {gb} 000 000 000 by 1 073 741 824.",
        ),
        (
            Slip(gb, "GB and GiB are not the same. A GiB is some 7 % more than a GB.", "took GB for GiB"),
            Slip(
                gb / GIB_PER_GB, "The wrong way round: a GiB is more than a GB, so there are fewer of them.", WRONG_WAY
            ),
            Slip(
                gb * GIB_PER_GB ** (1 / 3),
                "You divided by 1024 once instead of 1000. From bytes it is 3 times.",
                NOT_3_TIMES,
            ),
            Slip(
                gb * GIB_PER_GB ** (2 / 3),
                "You divided by 1024 twice instead of 1000. From bytes it is 3 times.",
                NOT_3_TIMES,
            ),
        ),
    )


def mbyte_s_needed(draws: Draws) -> Sum:
    """Ask for the write rate that keeps up with a cap."""
    camera = any_camera(draws)
    rate = write_mbyte_s_for_margin(camera.cap_mbit_s, 1)
    return Sum(
        f"A camera records onto a card. {camera.rates}. At times it writes as fast as it may. How fast must the card"
        " take the data at those times, without any margin? Answer in Mbyte/s, with two decimals.",
        "Mbyte/s",
        2,
        rate,
        (
            "At its fastest the camera writes at its cap. So the cap decides on speed, not the mean.",
            "8 bits are 1 byte, so 8 Mbit/s are 1 Mbyte/s.",
            f"{camera.cap_mbit_s:g} Mbit/s ÷ 8 = {rate:.2f} Mbyte/s.",
        ),
        (
            "Which rate counts when the camera writes as fast as it may?",
            "A byte has 8 bits. Is a rate in Mbyte/s a larger or a smaller number than in Mbit/s?",
            f"Divide {camera.cap_mbit_s:g} by 8.",
        ),
        (
            Slip(camera.cap_mbit_s, "That is still in Mbit/s. 8 Mbit/s are 1 Mbyte/s.", "left it in Mbit/s"),
            Slip(
                camera.cap_mbit_s * BITS_PER_BYTE,
                "The wrong way round: 8 bits make 1 byte, so divide by 8.",
                "took it times 8",
            ),
            Slip(
                write_mbyte_s_for_margin(camera.mean_mbit_s, 1),
                "You took the mean. A card must also take the moments in which the camera writes at its cap.",
                "took the mean for the cap",
            ),
            Slip(camera.cap_mbit_s / 10, "You divided by 10. A byte has 8 bits.", "divided by 10"),
        ),
    )


def writes_a_year(draws: Draws) -> Sum:
    """Ask how much a camera writes in a year."""
    camera = any_camera(draws)
    tb = writes_tb_year(camera.mean_mbit_s, camera.recorded_fraction)
    day_gb = writes_gb_day(camera.mean_mbit_s, camera.recorded_fraction)
    return Sum(
        f"A camera records on motion. {camera.on_motion} How many TB does it write in a year of 365.25 days? Answer in"
        " TB, with one decimal.",
        "TB",
        1,
        tb,
        (
            AN_HOUR,
            f"In a day: {camera.mean_mbit_s:g} × 0.45 × 24 hours × {camera.recorded_fraction:g} = {day_gb:.6g} GB.",
            f"In a year: {day_gb:.6g} GB × 365.25 = {day_gb * DAYS_PER_YEAR:.6g} GB.",
            f"1000 GB are 1 TB: {day_gb * DAYS_PER_YEAR:.6g} GB ÷ 1000 = {tb:.1f} TB.",
        ),
        (
            "In what part of the time does it write, and at which of the two rates?",
            "1 Mbit/s writes 0.45 GB in an hour of recording. How much is that in a day of 24 hours?",
            "Multiply the GB a day by 365.25, then divide by 1000 for TB.",
        ),
        (
            Slip(tb * BITS_PER_BYTE, *FACTOR_8),
            Slip(
                writes_tb_year(camera.mean_mbit_s),
                "You took it to record all the time. It records on motion.",
                NO_MOTION,
            ),
            Slip(writes_tb_year(camera.cap_mbit_s, camera.recorded_fraction), *CAP_FOR_MEAN),
            Slip(tb * GB_PER_TB, "That is in GB. It is asked for in TB: 1000 GB are 1 TB.", ANOTHER_UNIT),
        ),
    )


def life_by_endurance(draws: Draws) -> Sum:
    """Ask how long a card lasts whose endurance is stated in TB."""
    camera, endurance_tbw = any_camera(draws), draws.of((20, 30, 40, 60, 80, 100, 120, 150))
    years = life_years(endurance_tbw, camera.mean_mbit_s, camera.recorded_fraction)
    tb = writes_tb_year(camera.mean_mbit_s, camera.recorded_fraction)
    day_gb = writes_gb_day(camera.mean_mbit_s, camera.recorded_fraction)
    return Sum(
        f"A card's data sheet says: endurance {endurance_tbw} TB written. A camera records onto it on motion."
        f" {camera.on_motion} After how many years of 365.25 days is the endurance used up? Answer in years, with one"
        " decimal.",
        "years",
        1,
        years,
        (
            AN_HOUR,
            f"In a day: {camera.mean_mbit_s:g} × 0.45 × 24 hours × {camera.recorded_fraction:g} = {day_gb:.6g} GB.",
            f"In a year: {day_gb:.6g} GB × 365.25 = {day_gb * DAYS_PER_YEAR:.6g} GB.",
            f"In TB: {day_gb * DAYS_PER_YEAR:.6g} GB ÷ 1000 = {tb:.6g} TB.",
            f"{endurance_tbw} TB ÷ {tb:.6g} TB a year = {years:.1f} years. This is wear alone.",
        ),
        (
            "How much does the camera write in a year?",
            "mean × 0.45 GB × 24 hours × 365.25 days × recorded part, divided by 1000 for TB.",
            f"Divide {endurance_tbw} TB by the TB a year.",
        ),
        (
            Slip(years / BITS_PER_BYTE, *FACTOR_8),
            Slip(
                life_years(endurance_tbw, camera.mean_mbit_s),
                "You took it to record all the time. It records on motion, and so wears the card more slowly.",
                NO_MOTION,
            ),
            Slip(life_years(endurance_tbw, camera.cap_mbit_s, camera.recorded_fraction), *CAP_FOR_MEAN),
            Slip(
                1 / years,
                "Upside down: divide the endurance by what is written in a year.",
                "divided the wrong way round",
            ),
        ),
    )


def life_by_hours(draws: Draws) -> Sum:
    """Ask how long a card lasts that is rated in hours at a bit rate."""
    camera, rated_h = any_camera(draws), draws.of((5000, 8000, 10_000, 12_000, 15_000, 20_000))
    years = life_years(endurance_tbw_from_hours(rated_h, RATED_MBIT_S), camera.mean_mbit_s)
    hours = rated_h * RATED_MBIT_S / camera.mean_mbit_s
    year_h = H_PER_DAY * DAYS_PER_YEAR
    return Sum(
        f"A card is rated for {rated_h} hours of recording at {RATED_MBIT_S} Mbit/s. A camera records onto it all the"
        f" time. {camera.rates}. After how many years of 365.25 days is the rating used up? Answer in years, with one"
        " decimal.",
        "years",
        1,
        years,
        (
            "What wears a card is what is written, not the hours. Slower writing gives more hours.",
            f"{rated_h} hours × {RATED_MBIT_S} ÷ {camera.mean_mbit_s:g} = {hours:.6g} hours at this camera's mean.",
            f"A year has 24 × 365.25 = {year_h:g} hours.",
            f"In years: {hours:.6g} ÷ {year_h:g} = {years:.1f} years.",
        ),
        (
            "The rating holds at its own bit rate. Does this camera write more or less than that?",
            f"Hours at this camera's mean: {rated_h} × {RATED_MBIT_S} ÷ mean.",
            "A year has 24 × 365.25 hours.",
        ),
        (
            Slip(
                rated_h / year_h,
                f"You took the hours as they are. They hold at {RATED_MBIT_S} Mbit/s, not at less.",
                "took the rated hours as they are",
            ),
            Slip(rated_h * RATED_MBIT_S / camera.cap_mbit_s / year_h, *CAP_FOR_MEAN),
            Slip(years * DAYS_PER_YEAR, "That is in days. It is asked for in years.", ANOTHER_UNIT),
        ),
    )


def motion_part(draws: Draws) -> Sum:
    """Ask which part of the time is recorded."""
    events_per_h, event_s = draws.of(range(4, 31)), draws.of(range(8, 41))
    pre_s, post_s = draws.of((3, 4, 5, 6, 8)), draws.of((10, 12, 15, 20))
    kept = kept_s(event_s, pre_s, post_s)
    percent = events_per_h * kept / S_PER_H * PERCENT_PER_ONE
    by_chance = recorded_fraction(events_per_h, event_s, pre_s, post_s) * PERCENT_PER_ONE
    return Sum(
        f"A camera records on motion. It sees {events_per_h} events an hour of {event_s} s each; no two are so near"
        f" that their recordings overlap. It keeps {pre_s} s before each event (pre-roll) and {post_s} s after it"
        " (post-roll). What part of the time does it record? Answer in %, with one decimal.",
        "%",
        1,
        percent,
        (
            f"Each event is kept for {pre_s} + {event_s} + {post_s} = {kept:g} s.",
            f"In an hour that is {events_per_h} × {kept:g} = {events_per_h * kept:g} s.",
            f"An hour has 3600 s: {events_per_h * kept:g} ÷ 3600 = {percent / PERCENT_PER_ONE:.6f}.",
            f"In %: {percent / PERCENT_PER_ONE:.6f} × 100 = {percent:.1f} %.",
            f"If events came by chance, some would overlap, and it would be {by_chance:.1f} %.",
        ),
        (
            "How many seconds does the camera keep for one event, from first to last?",
            f"Multiply by {events_per_h} events: that many seconds of each hour are recorded.",
            "An hour has 3600 seconds. A part in % is the part times 100.",
        ),
        (
            Slip(
                events_per_h * event_s / S_PER_H * PERCENT_PER_ONE,
                "You left out the pre-roll and the post-roll.",
                "left out pre-roll and post-roll",
            ),
            Slip(
                events_per_h * (event_s + pre_s) / S_PER_H * PERCENT_PER_ONE,
                "You left out the post-roll: what is kept after each event.",
                "left out the post-roll",
            ),
            Slip(
                events_per_h * (event_s + post_s) / S_PER_H * PERCENT_PER_ONE,
                "You left out the pre-roll: what is kept before each event.",
                "left out the pre-roll",
            ),
            Slip(
                percent / PERCENT_PER_ONE,
                "That is the part as a number from 0 to 1. In % it is 100 times that.",
                "gave a part of 1, not %",
            ),
            Slip(
                events_per_h * kept / S_PER_MIN,
                "Those are the minutes of recording in an hour, not the %.",
                "gave minutes, not %",
            ),
        ),
    )
