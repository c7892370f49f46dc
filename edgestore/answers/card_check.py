"""Is this card what its label says: the verdict on a card that was checked, with its reasons."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import Enum

import numpy as np

from edgestore.inputs.bench.check import FULL, ROOM_BYTES, CardCheck
from edgestore.inputs.bench.fill import Ended
from edgestore.inputs.bench.pattern import Fault
from edgestore.inputs.card_list import listed_card
from edgestore.inputs.cards_checked import ACCEPTED, REFUSED, UNDECIDED
from edgestore.inputs.sheet import Source
from edgestore.models.lots.probes import missed_chance
from edgestore.models.speed.classes import guaranteed_write_mbyte_s
from edgestore.text import counted, number, percent
from edgestore.units import BITS_PER_BYTE, BYTES_PER_GB, BYTES_PER_MB, S_PER_MIN

LEAST_OF_LABEL = 0.9
"""A file system of less than this share of the capacity on the label is too small (our choice): formatting and the
card's own use leave some 0.93 to 0.99 (common practice, no source)."""

LEAST_TRIED = 0.9
"""A check of less than this share of the file system proves nothing of the rest (our choice); what a file system needs
for its own tables is less."""

LONG_STALL_S = 1.0
"""A longer stall is told (our choice): many cameras hold a few seconds of video in their buffer, and none says so."""

LEAST_TOLD = 0.001
"""A lower chance is told as below this."""

FALSE_SHARES = (0.5, 0.1)
"""Shares of the capacity that are false, of which a quick check says with which chance it misses them."""


class Weight(Enum):
    """What a reason does to the verdict."""

    REFUSES = "refuses"
    LEAVES_OPEN = "leaves open"
    TELLS = "tells"


class Verdict(Enum):
    """What is said of a card."""

    ACCEPTED = ACCEPTED
    UNDECIDED = UNDECIDED
    REFUSED = REFUSED


@dataclass(frozen=True)
class Reason:
    """Something that was found, by a name, and what it does to the verdict."""

    name: str
    weight: Weight
    text: str


@dataclass(frozen=True)
class Label:
    """What is printed on a card, or stands in the card list.

    Attributes
    ----------
    capacity_gb : float or None
        Capacity, GB; None where it is not told.
    min_write_mbyte_s : float or None
        Least sequential rate that its speed marks promise, Mbyte/s.
    pe_cycles : float or None
        How often each place may be written.
    """

    capacity_gb: float | None = None
    min_write_mbyte_s: float | None = None
    pe_cycles: float | None = None


@dataclass(frozen=True, kw_only=True)
class CheckedCard:
    """A card that was checked.

    Attributes
    ----------
    check : CardCheck
        What was measured.
    label : Label
        What the card should be.
    peak_mbit_s : float or None
        Highest rate of the camera that it is planned for.
    reasons : tuple of Reason
        What was found, the gravest first.
    """

    check: CardCheck
    label: Label
    peak_mbit_s: float | None
    reasons: tuple[Reason, ...]

    @property
    def verdict(self) -> Verdict:
        """Refused for one reason that refuses; not decided where one leaves it open; else accepted."""
        weights = {reason.weight for reason in self.reasons}
        if Weight.REFUSES in weights:
            return Verdict.REFUSED
        return Verdict.UNDECIDED if Weight.LEAVES_OPEN in weights else Verdict.ACCEPTED

    @property
    def is_compared(self) -> bool:
        """Whether the card was compared with a label."""
        return self.label.capacity_gb is not None

    @property
    def question(self) -> str:
        """What was asked of the card."""
        return "Is this card what its label says?" if self.is_compared else "Does this card keep what is written to it?"

    @property
    def told(self) -> str:
        """The verdict in words: a card without a label is accepted as sound, and as nothing else."""
        is_sound_alone = self.verdict is Verdict.ACCEPTED and not self.is_compared
        return f"{self.verdict.value} as sound" if is_sound_alone else self.verdict.value

    @property
    def sentence(self) -> str:
        """The verdict and its first reason, and whether a label was compared."""
        first = f": {self.reasons[0].text}" if self.reasons else "."
        return f"{self.told.capitalize()}{first}{'' if self.is_compared else ' No label was compared.'}"


def label_of(cards: Source, kind: str) -> Label:
    """What a card list says is printed on a kind of card.

    Parameters
    ----------
    cards : Path, str or bytes
        The card list.
    kind : str
        Name of the card in it.

    Returns
    -------
    Label
        Its capacity, GB, the rate that its marks promise, Mbyte/s, and its cycles.

    Raises
    ------
    InputError
        When the list cannot be read, or has no such card.
    """
    row = listed_card(cards, kind)
    capacity, marks, cycles = row[["capacity_gb", "speed_class", "pe_cycles"]]
    return Label(float(capacity), guaranteed_write_mbyte_s(marks.split()), None if np.isnan(cycles) else float(cycles))


def checked_card(
    check: CardCheck, label: Label = Label(), peak_mbit_s: float | None = None, *, says: Iterable[str] = ()
) -> CheckedCard:
    """Judge a card by what was measured.

    Parameters
    ----------
    check : CardCheck
        What was measured.
    label : Label
        What the card should be.
    peak_mbit_s : float, optional
        Highest rate of the camera that it is planned for, Mbit/s.
    says : iterable of str
        What disagrees in the registers of the card, each in words (:func:`edgestore.answers.registers.card_says`).

    Returns
    -------
    CheckedCard
        The verdict with its reasons. A card that lies about its capacity, loses or changes what is written, or ends
        before it should, is refused; so is one that was slower in some second than its marks promise or the camera
        needs. A quick check, and one that ended early for another reason, decides nothing but what it found.
    """
    found = [
        *_kept(check),
        *_ended(check),
        *_size(check, label),
        *_tried(check),
        *_speed(check, label, peak_mbit_s),
        *_behind(check),
        *(Reason("registers disagree", Weight.LEAVES_OPEN, text) for text in says),
        *_told(check, label),
    ]
    order = list(Weight)
    reasons = tuple(sorted(found, key=lambda reason: order.index(reason.weight)))
    return CheckedCard(check=check, label=label, peak_mbit_s=peak_mbit_s, reasons=reasons)


def _kept(check: CardCheck) -> Iterator[Reason]:
    """What did not come back as it was written."""
    if check.read is not None:
        wrong, read = check.read.wrong_bytes, check.read
        came = f"Of {_gb(read.bytes_read)} written, {_gb(read.kept_bytes)} came back"
        if read.repeats_after_bytes is not None:
            yield _refuses(
                "addresses repeat",
                f"{came}: the card's addresses repeat after {_gb(read.repeats_after_bytes)}, and what is written beyond"
                " takes the place of older footage. Its true capacity is about that.",
            )
        if lost := wrong.get(Fault.LOST.value, 0):
            yield _refuses(
                "loses footage", f"{came}: {_gb(lost)} is empty. Its true capacity is about {_gb(read.kept_bytes)}."
            )
        if corrupt := wrong.get(Fault.CORRUPT.value, 0):
            bits = sum(one.bits for one in read.ranges)
            yield _refuses("changes footage", f"{came}: {_gb(corrupt)} differs, in {counted(bits, 'bit')} or more.")
        if unread := wrong.get(Fault.UNREADABLE.value, 0):
            yield _refuses("cannot be read", f"{came}: {_gb(unread)} cannot be read.")
        if check.ended is None and not wrong:
            yield Reason("sound", Weight.TELLS, f"All {_gb(read.bytes_read)} that was written came back as written.")
    if check.probed is not None and check.probed.wrong:
        probed = check.probed
        yield _refuses(
            "false places",
            f"{counted(probed.false_probes, 'place')} of {probed.probes} did not keep what was written: some"
            f" {percent(probed.false_probes / probed.probes)} of the card is false.",
        )


def _ended(check: CardCheck) -> Iterator[Reason]:
    """Why the check ended before all was done."""
    after = f"after {_gb(check.bytes_written)} of {_gb(check.asked_bytes)}"
    match check.ended:
        case Ended.FULL:
            yield _refuses("full early", f"The card was full {after} that it said was free.")
        case Ended.TAKEN:
            text = (
                f"There was no room left {after}: another program wrote to the card, or the file system needs more for"
                " itself than it said. Check it again with --leave."
            )
            yield Reason("no room left", Weight.LEAVES_OPEN, text)
        case Ended.READ_ONLY:
            yield _refuses(
                "read-only", f"The card took no more writes {after}: a card at its end does so, and a lock slid on."
            )
        case Ended.GONE:
            yield Reason(
                "gone", Weight.LEAVES_OPEN, f"The card was gone {after}: pulled out, a loose socket, or it failed."
            )
        case Ended.FAILED:
            yield _refuses("a write failed", f"The card refused a write {after}.")


def _size(check: CardCheck, label: Label) -> Iterator[Reason]:
    size_gb = check.size_bytes / BYTES_PER_GB
    if label.capacity_gb is not None and size_gb < LEAST_OF_LABEL * label.capacity_gb:
        yield _refuses(
            "too small",
            f"Its file system has {number(size_gb)} GB, and the label says {number(label.capacity_gb)} GB.",
        )


def _tried(check: CardCheck) -> Iterator[Reason]:
    """How much of the card was in use, or left, and so was not tried."""
    share = (check.asked_bytes + ROOM_BYTES) / check.size_bytes
    if share < LEAST_TRIED:
        yield Reason(
            "not all tried",
            Weight.LEAVES_OPEN,
            f"Only {percent(share)} of the card was free to be tried. The rest was not, and a card that lies about its"
            " capacity can pass so. Copy what is on it, format it and check it again, without --leave.",
        )


def _speed(check: CardCheck, label: Label, peak_mbit_s: float | None) -> Iterator[Reason]:
    """What the card was too slow for."""
    slowest = check.slowest_second_mbyte_s
    if np.isnan(slowest):
        return
    wrote = f"It wrote {number(check.mbyte_s)} Mbyte/s, in its slowest second {number(slowest)}"
    promised = label.min_write_mbyte_s
    needed = None if peak_mbit_s is None else peak_mbit_s / BITS_PER_BYTE
    if needed is not None and slowest < needed:
        yield _refuses("too slow for the camera", f"{wrote}; the camera's peak is {number(needed)} Mbyte/s.")
    elif promised is not None and slowest < promised:
        weight = Weight.REFUSES if check.mbyte_s < promised else Weight.LEAVES_OPEN
        text = f"{wrote}; its marks promise {number(promised)}. Try it in another reader: a slow one does the same."
        yield Reason("slower than its marks", weight, text)
    if check.longest_stall_s > LONG_STALL_S:
        yield Reason(
            "stalls",
            Weight.LEAVES_OPEN,
            f"It stood still for {number(check.longest_stall_s)} s: a camera whose buffer holds less loses pictures.",
        )


def _behind(check: CardCheck) -> Iterator[Reason]:
    """Whether the card stayed with the camera's own pattern."""
    if (tried := check.recorded) is not None and tried.latest_s > LONG_STALL_S:
        text = (
            f"With the camera's own pattern the card was {number(tried.latest_s)} s behind at worst, and"
            f" {number(tried.backlog_mbyte)} MB waited: a camera whose buffer holds less loses pictures."
        )
        yield Reason("behind the camera", Weight.LEAVES_OPEN, text)


def _told(check: CardCheck, label: Label) -> Iterator[Reason]:
    """What leaves the verdict as it is, or open since too little was looked at."""
    if check.mode != FULL and check.probed is None and check.read is not None:
        tried, min_ = (
            check.bytes_written / check.asked_bytes,
            2 * check.asked_bytes / BYTES_PER_MB / check.mbyte_s / S_PER_MIN,
        )
        yield Reason(
            "beginning only",
            Weight.LEAVES_OPEN,
            "The file system cannot reserve space without writing it, so places across the card could not be tried."
            f" Only the first {_gb(check.bytes_written)} were tried, {percent(tried, 1)} of the free space, and a card"
            " that is false beyond that passes. Check it in full: that takes some"
            f" {number(min_)} min at this speed.",
        )
    if check.mode != FULL and check.probed is not None and not check.probed.wrong:
        missed = ", ".join(
            f"one of which {percent(share)} is false with {_missed(share, check.probed.probes)}"
            for share in FALSE_SHARES
        )
        text = f"All {check.probed.probes} places kept what was written. Such a look misses a false card: {missed}"
        yield Reason("quick", Weight.LEAVES_OPEN, f"{text}. Addresses that repeat are found by a full check alone.")
    if label.capacity_gb is None:
        text = (
            "No label was compared: whether the card is the one that was ordered is not told. Name the card of the card"
            " list with --card and --cards."
        )
        yield Reason("no label", Weight.TELLS, text)
    if check.bytes_written and label.capacity_gb:
        writes = check.bytes_written / BYTES_PER_GB / label.capacity_gb
        yield Reason("wear", Weight.TELLS, f"The check cost the card {full_writes(writes, label)}.")
    how = "past the cache" if check.is_direct else "each write waiting for the card, the cache dropped before reading"
    yield Reason("cache", Weight.TELLS, f"Written and read {how}.")
    if not check.is_removed:
        yield Reason("left", Weight.TELLS, "The files of the check could not be removed from the card.")


def full_writes(writes: float, label: Label) -> str:
    """How often a card was written in full, of how often it may be, in words."""
    cycles = "" if label.pe_cycles is None else f" of some {number(label.pe_cycles)}"
    return f"{number(writes)} full {'write' if number(writes) == '1' else 'writes'}{cycles}"


def _missed(share: float, probes: int) -> str:
    """Chance that probes miss a false share, in words."""
    missed = float(missed_chance(share, probes))
    return "a chance below 0.1 %" if missed < LEAST_TOLD else f"a chance of {percent(missed, 1)}"


def _refuses(name: str, text: str) -> Reason:
    return Reason(name, Weight.REFUSES, text)


def _gb(size_bytes: float) -> str:
    return f"{number(size_bytes / BYTES_PER_GB)} GB"
