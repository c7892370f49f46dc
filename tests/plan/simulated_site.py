"""A site that is simulated for five years under laws other than those the plan assumes, as its files would have it."""

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import onvif_answers as answers

from edgestore.inputs.saved_answers import read_answers
from edgestore.plan.happened import held_by_cameras, learnt_site
from edgestore.plan.read import read_lists
from edgestore.plan.what_happened import means, random_failures

CAMERAS, YEARS, DAYS = 40, 5, 1826
START = date(2021, 11, 19)
HOURS = 24 * 7 * 26
"""Half a year, back from the day of the answers: more than any card holds."""


@dataclass(frozen=True)
class Found:
    """What is true of a site, and what the loop says: middle, and the ends between which nine in ten should lie."""

    random_per_year: float
    said_random: tuple[float, float, float]
    mean_mbit_s: np.ndarray
    said_mean: np.ndarray
    listed_mbit_s: np.ndarray

    @property
    def finds_random(self):
        return self.said_random[1] <= self.random_per_year <= self.said_random[2]

    @property
    def finds_wrong_mean(self):
        """The first camera's listed mean is wrong by a factor of 1.6 to 2.5, up or down."""
        return bool(self.finds_means[0])

    @property
    def finds_means(self):
        return (self.said_mean[:, 1] <= self.mean_mbit_s) & (self.mean_mbit_s <= self.said_mean[:, 2])


def hours_held(rng, mean_mbit_s, held_gb):
    """Go back hour by hour until the card is full: busy days, quiet nights, days and weeks that differ."""
    hour = np.arange(HOURS)
    day_over_night = rng.uniform(1, 3)
    by_hour = np.where((hour % 24 >= 6) & (hour % 24 < 20), day_over_night, 1.0)
    by_day = rng.uniform(0.85, 1.2, 7)[hour // 24 % 7]
    by_week = rng.gamma(1 / 0.05**2, 0.05**2, HOURS // 168 + 1)[hour // 168]  # a gamma law; the belief is lognormal
    within = rng.gamma(1 / 0.3**2, 0.3**2, HOURS)
    shape = by_hour * by_day
    rate = mean_mbit_s * shape / shape.mean() * by_week * within
    written_gb = np.concatenate([[0.0], np.cumsum(0.45 * rate)])
    return float(np.interp(held_gb, written_gb, np.arange(HOURS + 1)))


def service_log(kind_of, draw):
    """Replace each card when it is taken out: after how many days, and why, is drawn for each camera and kind."""
    lines, fitted = [], []
    for camera, kind in enumerate(kind_of):
        day = 0
        while True:
            days, why = draw(camera, kind)
            out, put_in = day + max(int(days), 1), START + timedelta(days=day)
            if out >= DAYS:
                lines.append(f"C{camera},{kind},{put_in},,")
                fitted.append(day)
                break
            lines.append(f"C{camera},{kind},{put_in},{START + timedelta(days=out)},{why}")
            day = out
    return "camera,card,fitted,removed,why\n" + "\n".join(lines) + "\n", np.array(fitted)


def drawn_life(rng, random_per_year, weak_fraction):
    """Days until a card fails: at random, or within half a year where it is weak (the belief: exponential)."""
    is_weak = rng.random() < weak_fraction
    return rng.uniform(1, 180) if is_weak else rng.exponential(365.25 / random_per_year)


def simulated(seed, folder: Path) -> Found:
    """Run a site, write its files, and read them back as the loop does."""
    rng = np.random.default_rng(seed)
    random_per_year = float(np.exp(rng.uniform(np.log(0.004), np.log(0.05))))  # even in the logarithm; belief: normal
    listed = rng.uniform(1, 4, CAMERAS)
    true = listed * rng.uniform(0.75, 1.3, CAMERAS)
    wrong = rng.uniform(1.6, 2.5)
    true[0] = listed[0] * (wrong if rng.random() < 0.5 else 1 / wrong)
    held_gb = 256 * 0.97 * rng.uniform(0.95, 1.03, CAMERAS)
    weak = rng.uniform(0.0, 0.03)
    log, fitted = service_log(["card"] * CAMERAS, lambda *_: (drawn_life(rng, random_per_year, weak), "failed"))
    saved = answers.SAVED
    held_h = [hours_held(rng, mean, gb) for mean, gb in zip(true, held_gb, strict=True)]
    in_service_h = (DAYS - fitted) * 24.0
    firsts = [saved - timedelta(hours=min(of)) for of in zip(held_h, in_service_h, strict=True)]
    files = {  # with the history: it shows that the oldest footage is no single clip
        f"{saved:%Y-%m-%d}/C{camera}.xml": answers.soap(
            answers.summary(first, saved), answers.history((first, True, False))
        )
        for camera, first in enumerate(firsts)
    }
    answers.write(folder / "answers", files)
    rows = "".join(f"C{camera},{mean:.3f},{4 * mean:.3f}\n" for camera, mean in enumerate(listed))
    (folder / "cameras.csv").write_text(f"camera,mean_mbit_s,cap_mbit_s\n{rows}")
    card = "card,256,0.97,V30,40000\n"  # so much endurance that wear decides nothing
    (folder / "cards.csv").write_text(f"card,capacity_gb,usable_fraction,speed_class,endurance_tbw\n{card}")
    (folder / "log.csv").write_text(log)
    (folder / "site.toml").write_text(f'[service]\nlog = "log.csv"\nas_of = {saved:%Y-%m-%d}\n')
    site = read_lists(folder / "cameras.csv", folder / "cards.csv", folder / "site.toml")
    said = read_answers(folder / "answers", site.cameras["camera"])
    learnt = learnt_site(site, held_by_cameras(site, said))
    return Found(random_per_year, random_failures(learnt, "card"), true, means(learnt), listed)
