"""Outages of a site event by event, drawn with a seed: what the closed forms of ``outage.py`` are held against.

Shared by all cameras of a run: the recorder's outages, and whether their cause took the cameras too. Shared by the
cameras of one link: its outages. Each camera's own: its card, which may have failed unnoticed.
"""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.outage.outage import Outages, hidden_failure_fraction
from edgestore.models.outage.repair import Floats
from edgestore.units import H_PER_DAY, H_PER_YEAR

Indices: TypeAlias = npt.NDArray[np.int64]

OUTAGES_AT_ONCE = 1_000_000
"""Runs are taken in batches of about so many outages: some 100 MB."""

MOST_OF_ONE_RUN = 10 * OUTAGES_AT_ONCE

MOST_UNSEEN = 9.0
"""Where none was seen, so many may have been expected: 9 is 3 standard errors, the roots of 9, from none."""


@dataclass(frozen=True)
class Estimate:
    """A simulated mean, its standard error over the runs, and the closed form, all in one unit."""

    value: float
    standard_error: float
    closed_form: float

    @property
    def errors_apart(self) -> float:
        """How many standard errors lie between the simulation and the closed form."""
        apart = abs(self.value - self.closed_form)
        return apart / self.standard_error if self.standard_error > 0 else (0.0 if apart == 0 else np.inf)


@dataclass(frozen=True, kw_only=True)
class SimulatedOutages:
    """What the outages of a site cost, run by run; means are over cameras and runs.

    Attributes
    ----------
    availability, outages_per_year, chance_outlasts, lost_without_card_h_per_year, lost_h_per_year : Estimate
        As in :class:`edgestore.models.outage.OutageFigures`, of one camera.
    lost_h_per_year_by_run : ndarray, shape (runs,)
        Footage lost in a year, mean of the cameras, h: how much luck decides.
    lost_h_per_year_by_camera : ndarray, shape (cameras,)
        Footage lost in a year, mean of the runs, h.
    agrees : bool
        Whether each estimate lies within 3 standard errors of its closed form. What did not happen in any run has none:
        it agrees if at most 9 of its kind were to be expected.
    """

    availability: Estimate
    outages_per_year: Estimate
    chance_outlasts: Estimate
    lost_without_card_h_per_year: Estimate
    lost_h_per_year: Estimate
    lost_h_per_year_by_run: Floats
    lost_h_per_year_by_camera: Floats
    agrees: bool


@dataclass(frozen=True)
class _Site:
    """What is simulated, checked."""

    recorder: Outages
    link: Outages | None
    retention_h: Floats
    cameras_per_link: int
    shared_cause_share: float
    card_failures_per_h: float
    inspected_every_h: float
    horizon_h: float

    @property
    def cameras(self) -> int:
        return len(self.retention_h)


def simulate_outages(
    recorder: Outages,
    retention_h: Numbers,
    link: Outages | None = None,
    *,
    cameras_per_link: int = 1,
    shared_cause_share: float = 0.0,
    card_failures_per_year: float = 0.0,
    inspected_every_days: float = 365.0,
    years: float = 10.0,
    runs: int = 1000,
    seed: int = 1,
) -> SimulatedOutages:
    """Run a site's outages event by event and hold the means against the closed forms.

    Parameters
    ----------
    recorder : Outages
        The recorder that all cameras share; its times in hours.
    retention_h : float or array_like
        What each camera's card holds, h, 0 or more; shape (cameras,), or one number for one camera.
    link : Outages, optional
        The link of each camera, or of each group of cameras; its times in hours.
    cameras_per_link : int
        Count of cameras, in the order given, that share a link, 1 or more.
    shared_cause_share : float
        Share of outages whose cause takes the cameras too, 0 to 1; drawn once for all whom the outage touches.
    card_failures_per_year : float
        Failures of a card, a year, 0 or more; infinite for a card that fails at once.
    inspected_every_days : float
        Time between two inspections of all cards, days, above 0.
    years : float
        Count of years in a run, above 0.
    runs : int
        Count of runs, 2 or more.
    seed : int
        Seed of the generator, a count of 0 or more: same seed, same outages.

    Returns
    -------
    SimulatedOutages
        Means with standard errors; times in hours, chances and shares as fractions.

    Raises
    ------
    InputError
        When a number is missing or out of range, or a run has more outages than memory should hold.

    Notes
    -----
    A simulation, not a formula. Times to failure are exponential, repairs as their law says, at the hour of the week at
    which they fall. Recorder and link fail independently of one another, and outages that overlap are one; if a piece
    of it takes the camera too, nothing of it is saved. An outage that begins within the run is counted whole: the
    closed forms are those of long runs, and differ by more than luck where outages last nearly as long as a run. The
    standard errors are those of independent runs: a thousand cameras say no more about the recorder that they share
    than one. A card that failed before the outage saves nothing; one that fails during it is taken to have held. No
    loop runs over cameras or runs: each turn of the one loop over time takes the next outage of all histories at once.

    References
    ----------
    Our own; agrees with the closed forms of :mod:`edgestore.models.outage.outage`.

    Examples
    --------
    >>> from edgestore.models.outage import ExponentialRepair
    >>> result = simulate_outages(Outages(17_520, ExponentialRepair(24)), 24, runs=2000)
    >>> result.agrees, round(result.lost_h_per_year.closed_form, 2)
    (True, 4.41)
    """
    retention = np.atleast_1d(checks.in_range("retention_h", retention_h, "h", at_least=0, mend="Give 0 for no card."))
    if retention.ndim != 1:
        raise checks.refuse("retention_h", f"shape {retention.shape}", "one row of cameras")
    failures = checks.one_number(
        "card_failures_per_year", card_failures_per_year, "a year", at_least=0, or_infinite=True
    )
    inspected = checks.one_number("inspected_every_days", inspected_every_days, "days", above=0)
    site = _Site(
        recorder,
        link,
        retention,
        checks.one_whole("cameras_per_link", cameras_per_link, at_least=1),
        checks.one_number("shared_cause_share", shared_cause_share, at_least=0, at_most=1),
        failures / H_PER_YEAR,
        inspected * H_PER_DAY,
        checks.one_number("years", years, "years", above=0) * H_PER_YEAR,
    )
    count = checks.one_whole("runs", runs, at_least=2)
    generator = np.random.default_rng(checks.one_whole("seed", seed, at_least=0))
    at_once = _runs_at_once(site)
    batches = [_batch(site, min(at_once, count - begun), generator) for begun in range(0, count, at_once)]
    by_run = np.concatenate([sums for sums, _ in batches], axis=1) / site.cameras
    by_camera = sum(lost for _, lost in batches) / (count * site.horizon_h / H_PER_YEAR)
    failed = float(hidden_failure_fraction(failures, inspected))
    return _result(site, by_run, np.asarray(by_camera), 1 - (1 - site.shared_cause_share) * (1 - failed))


def _runs_at_once(site: _Site) -> int:
    outages = 0.0
    for name, part in (("recorder", site.recorder), ("link", site.link)):
        if part is None:
            continue
        if not isinstance(part, Outages):
            raise checks.refuse_value(name, part, "an Outages")
        if np.ndim(part.outages_per_year()):
            raise checks.refuse(name, "arrays", "one MTBF and one law of plain numbers")
        outages += float(part.outages_per_year()) * site.horizon_h / H_PER_YEAR * site.cameras
    if outages > MOST_OF_ONE_RUN:
        mend = "Simulate fewer years or fewer cameras."
        raise checks.refuse("years", f"{outages:.3g} outages a run", f"at most {MOST_OF_ONE_RUN:.0e}", mend)
    return max(int(OUTAGES_AT_ONCE / max(outages, site.cameras)), 1)


def _histories(
    part: Outages, histories: int, horizon_h: float, generator: np.random.Generator
) -> tuple[Indices, Floats, Floats]:
    """Draw all outages of many histories: whose each is, when it begins and how long it lasts, h."""
    whose, now = np.arange(histories), np.zeros(histories)
    drawn: list[tuple[Indices, Floats, Floats]] = [(whose[:0], now[:0], now[:0])]
    while True:
        begins = now + part.mtbf_h * generator.standard_exponential(whose.size)
        within = begins < horizon_h
        whose, begins = whose[within], begins[within]
        if not whose.size:
            break
        lasts = part.repair.draw_h(begins, generator)
        drawn.append((whose, begins, lasts))
        now = begins + lasts
    whose, begins, lasts = (np.concatenate(column) for column in zip(*drawn, strict=True))
    return whose, begins, lasts


def _batch(site: _Site, runs: int, generator: np.random.Generator) -> tuple[Floats, Floats]:
    """Simulate some runs; give outages, hours away, outages beyond the card and hours lost a run, and lost a camera."""
    key, begins, lasts, spoilt = _camera_outages(site, runs, generator)
    run, camera = np.divmod(key, site.cameras)
    # A run begins anywhere between two inspections; all cameras of a site are inspected on one tour.
    since_tour = generator.random(runs) * site.inspected_every_h
    spoilt |= _card_dead(site, key, begins + since_tour[run], generator)
    holds = site.retention_h[camera]
    lost = np.where(spoilt, lasts, np.maximum(lasts - holds, 0.0))
    columns = (np.ones(len(lasts)), lasts, (lasts > holds).astype(float), lost)
    by_run = np.array([np.bincount(run, column, minlength=runs) for column in columns])
    return by_run, np.bincount(camera, lost, minlength=site.cameras).astype(float)


def _camera_outages(
    site: _Site, runs: int, generator: np.random.Generator
) -> tuple[Indices, Floats, Floats, npt.NDArray[np.bool_]]:
    """Give every camera's outages in order: whose (run and camera), beginning, length, h, and whether none is saved."""
    cameras, group = site.cameras, site.cameras_per_link
    whose, begins, lasts = _histories(site.recorder, runs, site.horizon_h, generator)
    parts = [(whose * cameras, np.arange(cameras), np.full(len(whose), cameras), begins, lasts)]
    if site.link is not None:
        links = -(-cameras // group)
        whose, begins, lasts = _histories(site.link, runs * links, site.horizon_h, generator)
        run, link = np.divmod(whose, links)
        parts.append((run * cameras + link * group, np.arange(group), cameras - link * group, begins, lasts))
    columns = []
    for first, offset, size, begins, lasts in parts:
        spoilt = generator.random(len(lasts)) < site.shared_cause_share
        # The last link may have fewer cameras than the others.
        here = offset < size[:, np.newaxis]
        keys = (first[:, np.newaxis] + offset)[here]
        columns.append((keys, *(np.repeat(row, here.sum(axis=1)) for row in (begins, lasts, spoilt))))
    key, begins, lasts, spoilt = (np.concatenate(column) for column in zip(*columns, strict=True))
    return _joined(key, begins, lasts, spoilt)


def _joined(
    key: Indices, begins: Floats, lasts: Floats, spoilt: npt.NDArray[np.bool_]
) -> tuple[Indices, Floats, Floats, npt.NDArray[np.bool_]]:
    """Sort outages by camera and time and join those that overlap; what is joined is spoilt when a piece of it is."""
    if not len(key):
        return key, begins, lasts, spoilt
    ends = begins + lasts
    # One clock for all: each camera's time begins after the end of the one before.
    apart = key * (ends.max() + 1)
    order = np.argsort(apart + begins)
    latest = np.maximum.accumulate((apart + ends)[order])
    heads = np.flatnonzero(np.append(True, (apart + begins)[order][1:] > latest[:-1]))
    first = order[heads]
    # What stands alone keeps its length, which rounding on the clock would put on either side of what a card holds.
    alone = np.diff(heads, append=len(key)) == 1
    lasts = np.where(alone, lasts[first], np.maximum.reduceat(ends[order], heads) - begins[first])
    return key[first], begins[first], lasts, np.logical_or.reduceat(spoilt[order], heads)


def _card_dead(site: _Site, key: Indices, since: Floats, generator: np.random.Generator) -> npt.NDArray[np.bool_]:
    """Whether a card had failed since its last inspection; its outages between two inspections share that fate."""
    if site.card_failures_per_h == 0:
        return np.zeros(len(key), bool)
    interval = np.floor(since / site.inspected_every_h)
    new = np.append(True, (np.diff(key) != 0) | (np.diff(interval) != 0))
    lives = generator.standard_exponential(int(new.sum())) / site.card_failures_per_h
    return np.asarray(since - interval * site.inspected_every_h > lives[np.cumsum(new) - 1])


def _result(site: _Site, by_run: Floats, by_camera: Floats, unsaved_fraction: float) -> SimulatedOutages:
    every = site.recorder if site.link is None else Outages.in_series(site.recorder, site.link)
    years = site.horizon_h / H_PER_YEAR
    outages, away, beyond, lost = by_run

    def mean(values: Floats, closed_form: Values) -> Estimate:
        error = values.std(ddof=1) / np.sqrt(values.size)
        return Estimate(float(values.mean()), float(error), float(closed_form))

    usual = max(float(outages.mean()), np.finfo(float).tiny)
    share = float(beyond.mean()) / usual
    # A ratio of means: its error is that of what is left of the numerator.
    chance = mean((beyond - share * outages) / usual, 0.0)
    closed = float(np.mean(every.repair.survival(site.retention_h))) if outages.any() else 0.0
    estimates = {
        "availability": mean(1 - away / site.horizon_h, every.availability()),
        "outages_per_year": mean(outages / years, every.outages_per_year()),
        "chance_outlasts": Estimate(share, chance.standard_error, closed),
        "lost_without_card_h_per_year": mean(away / years, every.lost_h_per_year(0.0)),
        "lost_h_per_year": mean(lost / years, np.mean(every.lost_h_per_year(site.retention_h, unsaved_fraction))),
    }
    unseen = float(every.outages_per_year()) * years * len(outages)
    if outages.any():
        unseen = unseen * closed if share == 0 else np.inf
    agrees = all(
        estimate.errors_apart <= 3 or (estimate.standard_error == 0 and unseen <= MOST_UNSEEN)
        for estimate in estimates.values()
    )
    return SimulatedOutages(
        **estimates, lost_h_per_year_by_run=lost / years, lost_h_per_year_by_camera=by_camera, agrees=agrees
    )
