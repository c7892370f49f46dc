"""A text that holds registers -> their hexadecimal digits, by name; opens no file.

Names and numbers are found wherever a line has them: ``cid: 0254...``, ``ATTRS{csd}=="400e..."``, a path of Linux with
its content, bytes with blanks, colons, ``0x`` or ``$``, or words as ``csd[0] = 0x400e0032``. Text without any name that
is hexadecimal digits alone is told apart by its length.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from edgestore.checks import Fault
from edgestore.inputs.registers.as_sent import DIGITS, WORD_DIGITS, Form, as_sent, fits, looks_like_csd

WORDS = {"CID": 4, "CSD": 4, "SCR": 2, "SSR": 16}
"""Words of 32 bits."""

EXT_CSD = "EXT_CSD"
LENGTHS = {name: digits for name, (digits, *_) in DIGITS.items()}

LEAST_DIGITS = 8
"""Fewer hexadecimal digits after a name are a number in a sentence (our choice)."""

LEAST_COUNT = 14
"""So many digits has no count of sectors or bytes that is told of a card (our choice)."""

MEND = {
    "none": "Paste a line as cid: 32 digits, the lines of a boot log, or give the folder that Linux shows of the card.",
    "two": "Leave the text of one card.",
    "length": "Copy the whole register again.",
}

_ALIASES = {"ext_csd": EXT_CSD, "extcsd": EXT_CSD, "sd_status": "SSR", "sd status": "SSR"}
_NAME = re.compile(r"(?<![a-z0-9])(ext_?csd|cid|csd|scr|ssr|sd[_ ]status)(?![a-z0-9])(?!\s*\[\s*\d)", re.IGNORECASE)
_WORD = re.compile(r"(cid|csd|scr|ssr)\s*\[\s*(\d{1,2})\s*\]\W{1,8}(?:0x)?([0-9a-f]{1,8})(?![0-9a-z])", re.IGNORECASE)
_BETWEEN = re.compile(r"[^0-9A-Za-z$]+")
_HEX = re.compile(r"(?:0x|\$)?([0-9a-f]+)", re.IGNORECASE)

_STATED = {
    "date": r"(\d\d/\d{4})(?!\d)",
    "serial": r"(0x[0-9a-f]{1,8})(?![0-9a-z])",
    "manfid": r"(0x[0-9a-f]{1,6})(?![0-9a-z])",
    "oemid": r"(0x[0-9a-f]{1,4})(?![0-9a-z])",
    "type": r"(SD|MMC)(?![0-9a-z])",
    "preferred_erase_size": r"(\d{3,12})(?![0-9a-z])",
    "life_time": r"(0x[0-9a-f]{1,2}\s+0x[0-9a-f]{1,2})(?![0-9a-z])",
    "pre_eol_info": r"(0x[0-9a-f]{1,2})(?![0-9a-z])",
}
STATED = {"size": re.compile(r"(?:(?<!p\d)/|\{)size(?:\}==|:)\W{0,3}(\d{4,15})(?![0-9a-z])", re.IGNORECASE)} | {
    key: re.compile(rf"(?:^|[\s/{{]){key}(?:\}}?==?|\s*:|\s)\W{{0,30}}?{value}", re.IGNORECASE)
    for key, value in _STATED.items()
}
"""What Linux says of a card beside its registers, and how each file's content looks."""

STARTED = "started"
"""What Linux says of a card when it finds it: its size in three digits."""

_STARTED = re.compile(r"mmcblk\d+:\s+mmc\d+:[0-9a-f]{4}\s+\S+\s+(\d+(?:\.\d+)?\s+[MGT]iB)(?![0-9a-z])", re.IGNORECASE)

_UTILITY = re.compile(r"(LIFE_TIME_EST_TYP_A|LIFE_TIME_EST_TYP_B|PRE_EOL_INFO)\W{1,6}(0x[0-9a-f]{1,2})", re.IGNORECASE)


@dataclass(frozen=True)
class Dump:
    """The registers of one card as they were printed: digits by name, how they were printed, what else was said."""

    registers: dict[str, str]
    forms: dict[str, Form]
    stated: dict[str, str]
    faults: tuple[Fault, ...]


@dataclass
class Collected:
    """Registers while a text is read: each value with its line and how many words it was printed in."""

    name: str
    found: dict[str, dict[str, tuple[int, int]]] = field(default_factory=dict)
    words: dict[str, dict[int, tuple[str, int]]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def where(self, line: int) -> str:
        """Say where something stands."""
        return f"{self.name}, line {line}"

    def add(self, register: str, digits: str, line: int, *, words: int = 1) -> None:
        """Take the digits of a register."""
        self.found.setdefault(register, {}).setdefault(digits.lower(), (line, words))

    def word(self, register: str, place: int, digits: str, line: int) -> None:
        """Take one word of a register."""
        known = self.words.setdefault(register, {}).setdefault(place, (digits.lower().zfill(WORD_DIGITS), line))
        if known[0] != digits.lower().zfill(WORD_DIGITS):
            found = f"{register}[{place}] as {known[0]} in line {known[1]} and as {digits} here"
            self.faults.append(Fault(self.where(line), found, "the words of one card", MEND["two"]))


def read_dump(text: str, name: str) -> Dump:
    """Find the registers of one card in a text.

    Parameters
    ----------
    text : str
        The text.
    name : str
        What messages call it.

    Returns
    -------
    Dump
        What was found, and what is wrong with it.
    """
    collected = Collected(name)
    lines = text.splitlines()
    taken = 0
    for number, line in enumerate(lines, start=1):
        for part in _WORD.finditer(line):
            collected.word(part[1].upper(), int(part[2]), part[3], number)
        if number > taken:
            taken = _named(lines, number, collected)
    if not collected.found and not collected.words:
        _bare(lines, collected)
    stated = _stated(lines)
    return dumped(collected, stated)


def dumped(collected: Collected, stated: Mapping[str, str]) -> Dump:
    """Check what was found: each register once and whole; bytes as the card sent them."""
    faults = list(collected.faults)
    for register, words in collected.words.items():
        wanted = range(WORDS[register])
        first = min(line for _, line in words.values())
        if set(words) != set(wanted):
            found = f"of {register} the words {', '.join(map(str, sorted(words)))}"
            faults.append(Fault(collected.where(first), found, f"the words 0 to {wanted[-1]}", MEND["length"]))
            continue
        collected.add(register, "".join(words[place][0] for place in wanted), first, words=WORDS[register])
    registers: dict[str, str] = {}
    forms: dict[str, Form] = {}
    for register, values in collected.found.items():
        # A number after a name, as sectors of a CSD, counts only where the register itself is nowhere.
        whole = {digits: place for digits, place in values.items() if fits(register, digits)}
        (digits, (line, words_printed)), *others = (whole or values).items()
        if others and whole:
            found = f"a second {register}, which differs from that of line {line}"
            faults.append(Fault(collected.where(others[0][1][0]), found, "the registers of one card", MEND["two"]))
        elif whole and (cut := _cut_short(values, digits)):
            found = f"a second {register}, cut short, which differs from that of line {line}"
            faults.append(Fault(collected.where(cut), found, "the registers of one card", MEND["two"]))
        elif not whole:
            found = f"{register} with {len(digits)} hexadecimal digits"
            allowed = f"{LENGTHS[register]} digits, {LENGTHS[register] // 2} bytes"
            faults.append(Fault(collected.where(line), found, allowed, MEND["length"]))
        else:
            registers[register], forms[register] = as_sent(register, digits, words_printed)
    if not registers and not faults and not {"life_time", STARTED} & stated.keys():
        found = "no register of a card"
        faults.append(Fault(collected.name, found, "CID, CSD, SCR or SSR in hexadecimal digits", MEND["none"]))
    return Dump(registers, forms, dict(stated), tuple(faults))


def _cut_short(values: Mapping[str, tuple[int, int]], whole: str) -> int:
    """Line of a register that is cut short and no part of the whole one; 0 for none. A count has no letter."""
    return next(
        (
            line
            for digits, (line, _) in values.items()
            if len(digits) >= LEAST_DIGITS and not digits.isdecimal() and digits not in whole
        ),
        0,
    )


def _named(lines: list[str], number: int, collected: Collected) -> int:
    """Take the registers that a line names, and from the lines below what it does not hold; give the last line used."""
    line = lines[number - 1]
    names = list(_NAME.finditer(line))
    waiting: list[tuple[str, list[str]]] = []
    if not names:
        return number
    ends = [*(name.start() for name in names[1:]), len(line)]
    for name, end in zip(names, ends, strict=True):
        register = _ALIASES.get(name[1].lower(), name[1].upper())
        rest = line[name.end() : end]
        tokens, is_last = _run(rest)
        if sum(map(len, tokens)) >= LENGTHS[register] or (tokens and not (is_last and end == len(line))):
            _take(register, tokens, number, collected)
        else:
            waiting.append((register, tokens))
    below = number
    for register, started in waiting:
        tokens = list(started)
        while sum(map(len, tokens)) < LENGTHS[register] and below < len(lines):
            more = _hex_line(lines[below])
            if more is None:
                break
            tokens += more
            below += 1
        _take(register, tokens, number, collected)
    return below if waiting else number


def _take(register: str, tokens: list[str], line: int, collected: Collected) -> None:
    """Take a run of digits as a register: all of it, or as much as the register has; else as a register cut short."""
    most = min(len(tokens), LENGTHS[register] // 2)
    starts = ["".join(tokens[:count]) for count in range(1, most + 1)]
    whole = [digits for digits in starts if len(digits) == LENGTHS[register]]
    every = "".join(tokens)
    alone = [token for token in tokens if fits(register, token)]
    fitting = [every] if fits(register, every) else whole or alone
    digits = fitting[0] if fitting else every
    # Eight digits without a letter are a count, as the sectors of a card.
    if fitting or len(digits) >= (LEAST_COUNT if digits.isdecimal() else LEAST_DIGITS):
        words = next((count for count, start in enumerate(starts, start=1) if start == digits), 1)
        collected.add(register, digits, line, words=words)


def _tokens(text: str) -> list[str | None]:
    """Give the numbers of a text as digits, whole bytes each, and None for each other word."""
    numbers = [_HEX.fullmatch(word) for word in _BETWEEN.split(text) if word]
    return [number[1] if number and len(number[1]) % 2 == 0 else None for number in numbers]


def _run(text: str) -> tuple[list[str], bool]:
    """Give the first run of numbers that is long enough to be of a register, and whether it ends the text."""
    run: list[str] = []
    for token in (*_tokens(text), None):
        if token is not None:
            run.append(token)
        elif sum(map(len, run)) >= LEAST_DIGITS:
            return run, _tokens(text)[-len(run) :] == run
        else:
            run = []
    return [], True


def _hex_line(line: str) -> list[str] | None:
    """Give the numbers of a line that holds nothing else; none of an empty line, None of any other."""
    tokens = _tokens(line)
    return None if None in tokens else [token for token in tokens if token is not None]


def _bare(lines: Iterable[str], collected: Collected) -> None:
    """Take lines of hexadecimal digits without a name, each as the register of its length, or all of them as one."""
    numbered = [(number, _hex_line(line)) for number, line in enumerate(lines, start=1)]
    held = [(number, tokens) for number, tokens in numbered if tokens]
    if not held:
        return
    alone = [(number, tokens) for number, tokens in held if _name_of("".join(tokens))]
    if not alone and all(tokens is not None for _, tokens in numbered):
        alone = [(held[0][0], [token for _, tokens in held for token in tokens])]
    for number, tokens in alone:
        digits = "".join(tokens)
        register = _name_of(digits)
        if register:
            collected.add(register, digits, number, words=len(tokens))
        elif len(digits) >= LEAST_DIGITS:
            found = f"{len(digits)} hexadecimal digits"
            allowed = "16 (SCR), 32 (CID or CSD) or 128 (SSR)"
            collected.faults.append(Fault(collected.where(number), found, allowed, MEND["length"]))


def _name_of(digits: str) -> str:
    """Name the register that so many digits are; of CID and CSD, which are of one length, tell by the bus rate."""
    by_length = {LENGTHS["SCR"]: "SCR", LENGTHS["SSR"]: "SSR", LENGTHS[EXT_CSD]: EXT_CSD}
    if len(digits) in DIGITS["CID"]:
        return "CSD" if looks_like_csd(digits) else "CID"
    return by_length.get(len(digits), "")


def _stated(lines: Iterable[str]) -> dict[str, str]:
    """Give what the text says of the card beside its registers; what is said first counts."""
    stated: dict[str, str] = {}
    utility: dict[str, str] = {}
    for line in lines:
        for key, pattern in STATED.items():
            if key not in stated and key in line.lower() and (value := pattern.search(line)):
                stated[key] = value[1]
        if STARTED not in stated and (size := _STARTED.search(line)):
            stated[STARTED] = size[1]
        for part in _UTILITY.finditer(line):
            utility.setdefault(part[1].upper(), part[2])
    if {"LIFE_TIME_EST_TYP_A", "LIFE_TIME_EST_TYP_B"} <= utility.keys():
        stated.setdefault("life_time", f"{utility['LIFE_TIME_EST_TYP_A']} {utility['LIFE_TIME_EST_TYP_B']}")
    if "PRE_EOL_INFO" in utility:
        stated.setdefault("pre_eol_info", utility["PRE_EOL_INFO"])
    return stated
