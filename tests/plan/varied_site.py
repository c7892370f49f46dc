"""A site simulated for five years under laws drawn anew: several kinds of card that wear out, cameras on events.

What the plan assumes is said beside each law. Seeds from ``FIRST_FRESH`` on were never run while the loop was written.
"""

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import numpy as np
import onvif_answers as answers
from simulated_site import DAYS, HOURS, service_log

from edgestore.inputs.saved_answers import read_answers
from edgestore.plan.happened import held_by_cameras, learnt_site
from edgestore.plan.read import read_lists
from edgestore.plan.what_happened import means, random_failures

FIRST_FRESH = 1_100_000
CAMERAS = 40
ON_EVENTS = 0.25
"""Part of the cameras that record on events."""

WITH_HISTORY = 0.5
"""Part of the cameras whose history was saved; that of the camera with the wrong mean always was."""

PAGE_CHANGES = 16_000
"""Changes of state in one answer of a search: a file of answers has 16 MB at most, a longer history several files."""


@dataclass(frozen=True)
class Varied:
    """What is true of a site and what the loop says of it: of each kind of card, and of each camera.

    ``random`` and ``means`` have the truth and the ends between which nine in ten should lie, a row a kind or a camera;
    the first camera's listed mean is wrong by a factor of 1.6 to 2.5.
    """

    random: np.ndarray
    means: np.ndarray
    on_events: np.ndarray
    has_history: np.ndarray

    @property
    def finds_random(self):
        return (self.random[:, 1] <= self.random[:, 0]) & (self.random[:, 0] <= self.random[:, 2])

    @property
    def finds_means(self):
        return (self.means[:, 1] <= self.means[:, 0]) & (self.means[:, 0] <= self.means[:, 2])


@dataclass(frozen=True)
class Footage:
    """What one camera writes hour by hour, back from the day of the answers: rate, part recorded, and its stretches.

    ``stretches`` are the hours ago at which recordings begin and end, the oldest first; none without a break.
    """

    rate_mbit_s: np.ndarray
    part: np.ndarray
    stretches: np.ndarray

    def hours_held(self, held_gb):
        written_gb = np.concatenate([[0.0], np.cumsum(0.45 * self.rate_mbit_s * self.part)])
        return float(np.interp(held_gb, written_gb, np.arange(HOURS + 1)))


def profile(rng):
    """Busy days and quiet nights, days of the week that differ."""
    hour = np.arange(HOURS)
    by_hour = np.where((hour % 24 >= 6) & (hour % 24 < 20), rng.uniform(1, 3), 1.0)
    shape = by_hour * rng.uniform(0.85, 1.2, 7)[hour // 24 % 7]
    return shape / shape.mean()


def footage(rng, mean_mbit_s, part, event_s):
    """Draw the hours: weeks by a gamma law, or by an even one (the belief is lognormal), and hours by a gamma law."""
    weeks = HOURS // 168 + 1
    by_week = rng.gamma(1 / 0.05**2, 0.05**2, weeks) if rng.random() < 0.5 else rng.uniform(0.91, 1.09, weeks)
    scatter = rng.uniform(0.15, 0.5)
    shape = profile(rng)
    busy = np.clip(part * profile(rng), 0, 0.95) if part < 1 else np.ones(HOURS)
    shape /= (shape * busy).sum() / busy.sum()  # the mean of the year while recording is the one that is drawn
    within = rng.gamma(1 / scatter**2, scatter**2, HOURS)
    rate = mean_mbit_s * shape * by_week[np.arange(HOURS) // 168] * within
    if part == 1:
        return Footage(rate, busy, np.empty((0, 2)))
    stretches = events(rng, busy, event_s)
    until = np.concatenate([[0.0], np.cumsum(-np.diff(stretches[::-1]).ravel())])  # recorded, from now back
    edges = stretches[::-1, ::-1].ravel()
    recorded = np.interp(np.arange(HOURS + 1), edges, np.repeat(until, 2)[1:-1], left=0.0)
    return Footage(rate, np.diff(recorded), stretches)


def lives(rng, law, years_to_endurance):
    """Age at which one card fails, in years: weak, at random, or worn out."""
    if rng.random() < law["weak"]:
        return rng.uniform(0, 0.5) if law["weak_even"] else rng.exponential(0.25)
    wears = years_to_endurance * law["endurance"] * (rng.exponential() / np.log(2)) ** (1 / law["shape"])
    return min(rng.exponential(1 / law["random"]), wears)


def taken_out(rng, law, years_to_endurance):
    """Days until a card is taken out, and why: it fails, or before that as planned or as evidence."""
    failed, taken = 365.25 * lives(rng, law, years_to_endurance), rng.exponential(365.25 / 0.04)
    return min((failed, "failed"), (taken, rng.choice(["planned", "evidence"])))


def events(rng, part, event_s):
    """Recordings as they come, by a Poisson law, one where they overlap: hours ago at which each begins and ends."""
    counts = rng.poisson(-np.log1p(-part) / (event_s / 3600))
    begins = np.sort(np.repeat(np.arange(HOURS) + 1.0, counts) - rng.random(counts.sum()))[::-1]
    ends = np.minimum.accumulate(np.maximum(begins - event_s / 3600, 0.0))
    is_first = np.concatenate([[True], begins[1:] < ends[:-1]])
    is_last = np.concatenate([is_first[1:], [True]])
    return np.column_stack([begins[is_first], ends[is_last]])


def changes(stretches, hours):
    """Changes of state of the last hours."""
    return [
        (answers.SAVED - timedelta(hours=at), is_there, False)
        for begin, end in stretches[stretches[:, 0] <= hours]
        for at, is_there in ((begin, True), (end, False))
    ]


def pages(told):
    """Answers to one search, each with a part of its results; the last one says that the search is at its end."""
    parts = [told[n : n + PAGE_CHANGES] for n in range(0, max(len(told), 1), PAGE_CHANGES)]
    states = ["Searching"] * (len(parts) - 1) + ["Completed"]
    return [answers.history(*part, state=state) for part, state in zip(parts, states, strict=True)]


def varied(seed, folder: Path) -> Varied:
    """Run a site, write its files, and read them back as the loop does."""
    rng = np.random.default_rng(seed)
    of_site = np.exp(rng.uniform(np.log(0.004), np.log(0.04)))  # belief: eight in ten within 1/300 and 3/100 a year
    kinds = {
        f"card {n}": {
            "random": of_site * np.exp(rng.uniform(-np.log(1.6), np.log(1.6))),  # belief: normal in the logarithm
            "weak": rng.uniform(0.0, 0.03),  # belief: lognormal, 1 % in the mean
            "weak_even": rng.random() < 0.5,  # belief: exponential
            "shape": rng.uniform(1.5, 5),  # belief: 2.2 to 3.8
            "endurance": np.exp(rng.uniform(np.log(0.8), np.log(3.2))),  # belief: eight in ten within 1 and 2.8
            "tbw": round(float(rng.uniform(60, 500))),
            "gb": int(rng.choice([32, 64, 128])),
        }
        for n in range(rng.integers(2, 5))
    }
    kind_of = rng.choice(list(kinds), CAMERAS, p=(share := rng.uniform(0.5, 2, len(kinds))) / share.sum())
    on_events = rng.random(CAMERAS) < ON_EVENTS
    has_history = rng.random(CAMERAS) < WITH_HISTORY
    has_history[0] = True
    listed = rng.uniform(1, 4, CAMERAS)
    true = listed * np.exp(rng.uniform(-np.log(1.35), np.log(1.35), CAMERAS))  # belief: eight in ten within 1.3
    wrong = rng.uniform(1.6, 2.5)
    true[0] = listed[0] * (wrong if rng.random() < 0.5 else 1 / wrong)
    per_h, event_s = rng.uniform(2, 6, CAMERAS), rng.uniform(60, 180, CAMERAS)
    more = np.exp(rng.uniform(-np.log(1.6), np.log(1.6), CAMERAS))  # belief: eight in ten within 1.5
    part = np.where(on_events, 1 - np.exp(-more * per_h * event_s / 3600), 1.0)
    of = [footage(rng, *of_camera) for of_camera in zip(true, part, event_s, strict=True)]
    held_gb = [kinds[name]["gb"] * 0.97 * rng.uniform(0.94, 1.04) for name in kind_of]  # belief: eight in ten in 5 %
    tb_year = true * part * 0.45 * 8.766
    log, fitted = service_log(
        kind_of, lambda camera, kind: taken_out(rng, kinds[kind], kinds[kind]["tbw"] / tb_year[camera])
    )
    files, saved = {}, answers.SAVED
    for camera in range(CAMERAS):
        hours = min(of[camera].hours_held(held_gb[camera]), (DAYS - fitted[camera]) * 24.0)
        first = saved - timedelta(hours=hours)
        bodies = [answers.summary(first, saved)]
        if has_history[camera]:
            told = changes(of[camera].stretches, hours) if on_events[camera] else [(first, True, False)]
            bodies += pages(told)
        files |= {f"{saved:%Y-%m-%d}/C{camera}/{n}.xml": answers.soap(body) for n, body in enumerate(bodies)}
    answers.write(folder / "answers", files)
    rows = "".join(
        f"C{n},{listed[n]:.3f},{5 * listed[n]:.3f},"
        + (f"motion,{per_h[n]:.3f},{event_s[n]:.1f}\n" if on_events[n] else "continuous,,\n")
        for n in range(CAMERAS)
    )
    (folder / "cameras.csv").write_text(f"camera,mean_mbit_s,cap_mbit_s,recording,events_per_h,event_s\n{rows}")
    cards = "".join(f"{name},{law['gb']},0.97,V30,{law['tbw']}\n" for name, law in kinds.items())
    (folder / "cards.csv").write_text(f"card,capacity_gb,usable_fraction,speed_class,endurance_tbw\n{cards}")
    (folder / "log.csv").write_text(log)
    (folder / "site.toml").write_text(f'[service]\nlog = "log.csv"\nas_of = {saved:%Y-%m-%d}\n')
    site = read_lists(folder / "cameras.csv", folder / "cards.csv", folder / "site.toml")
    said = read_answers(folder / "answers", site.cameras["camera"])
    learnt = learnt_site(site, held_by_cameras(site, said))
    used = [name for name in kinds if name in set(kind_of)]
    return Varied(
        np.array([[kinds[name]["random"], *random_failures(learnt, name)[1:]] for name in used]),
        np.column_stack([true, means(learnt)[:, 1:]]),
        on_events,
        has_history,
    )
