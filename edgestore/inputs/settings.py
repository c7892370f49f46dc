"""The user's own settings of a site: what is wanted, what it costs, what its document says.

Reads one file: TOML, or a workbook (XLSX, ODS) with a row a setting.
"""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from edgestore.checks import MAX_PRICE, Fault, InputError
from edgestore.inputs.beliefs import BELIEF_KEYS, Beliefs
from edgestore.inputs.clocks import latest_day
from edgestore.inputs.efforts import EFFORT_KEYS
from edgestore.inputs.names import printable
from edgestore.inputs.outages import OF_LAW, OUTAGE_KEYS, OutageSettings, inherited, law_faults, outage_settings
from edgestore.inputs.settings_sheet import SheetSettings, place, read_settings_sheet
from edgestore.inputs.sheet import Source, shown
from edgestore.inputs.tables import Column
from edgestore.inputs.toml_table import as_found, read_table, read_value, unknown_names
from edgestore.inputs.workbook_cells import OLD, PACKED
from edgestore.plain_file import MOST_TOML_BYTES, plain_file, toml_file

LEAST_ASKED, MOST_ASKED = 0.001, 10_000.0
"""Bounds of what may be asked of a card, in days, years or as a ratio; beyond them no answer has a use (our choice)."""

LEAST_ASSURANCE, MOST_ASSURANCE = 0.5, 0.99
"""Bounds of the chance that may be asked: more than what is known can tell, or less than a toss, is no promise."""

REQUIREMENT_KEYS = (
    Column("retention_days", "number", "days of footage wanted", "days", at_least=LEAST_ASKED, at_most=MOST_ASKED),
    Column("life_years", "number", "years that a card is to last", "years", at_least=LEAST_ASKED, at_most=MOST_ASKED),
    Column(
        "speed_margin",
        "number",
        "card's promised write rate over the cap; over the mean where no cap is known",
        at_least=LEAST_ASKED,
        at_most=MOST_ASKED,
    ),
    Column(
        "retention_days_max",
        "number",
        "most days that policy or law allows",
        "days",
        at_least=LEAST_ASKED,
        at_most=MOST_ASKED,
    ),
    Column(
        "assurance",
        "number",
        "chance asked that a card keeps all of this",
        at_least=LEAST_ASSURANCE,
        at_most=MOST_ASSURANCE,
        mend="A percentage is divided by 100.",
    ),
)
PRICE: Any = {"unit": "currency units", "at_least": 0, "at_most": MAX_PRICE}
LIFT_VISIT = "a visit to a camera that is reached only with lifting gear"
BROKEN = (
    "price of a broken promise, used to count what finding out is worth; without it, what the assured choices "
    "pay for a chance"
)
BUDGET = (
    "money a year for replacing the cards in service, the riskiest first; without it, each is replaced when it is due"
)
COST_KEYS = (
    Column("horizon_years", "number", "time over which costs are counted", "years", default=10.0, above=0, at_most=50),
    Column("visit_price", "number", "a visit to change a card", required=True, **PRICE),
    Column("visit_with_lift_price", "number", LIFT_VISIT, required=True, **PRICE),
    Column(
        "spare_fraction",
        "number",
        "spare cards bought over cards fitted",
        default=0.0,
        at_least=0,
        at_most=1,
        mend="A percentage is divided by 100.",
    ),
    Column("first_fitting_is_a_visit", "yes-no", "whether the first card takes a visit of its own", default=True),
    Column("currency", "text", "what prices are in", default="currency units"),
    Column("broken_promise_price", "number", BROKEN, **PRICE),
    Column("budget_per_year", "number", BUDGET, "currency units a year", above=0, at_most=MAX_PRICE),
)
LANGUAGES = ("en", "de")
"""Languages of the document's fixed texts (ISO 639-1); each but English has a catalogue in ``documents/languages``."""

DOCUMENT_KEYS = (
    Column("title", "text", "title of the document"),
    Column("organisation", "text", "who makes the proposal"),
    Column("author", "text", "who wrote it"),
    Column("logo", "text", "picture file, empty for none; its path is relative to the folder of this file"),
    Column("date", "date", "day of the document"),
    Column("client", "text", "for whom the proposal is made"),
    Column("reference", "text", "the client's reference or the number of the tender"),
    Column("revision", "text", "which revision of the document this is"),
    Column("valid_until", "date", "last day on which the proposal holds"),
    Column("language", "choice", "language of the document's fixed texts", default="en", words=LANGUAGES),
    Column(
        "theme",
        "text",
        "file with the house's colours, fonts and texts; its path is relative to the folder of this file",
    ),
)
CARD_SPECIFICATION_KEYS = (
    Column("temperature_low_c", "number", "lowest temperature", "degrees Celsius", at_least=-60, at_most=60),
    Column("temperature_high_c", "number", "highest temperature", "degrees Celsius", at_least=-20, at_most=125),
    Column(
        "humidity_high_percent",
        "number",
        "highest relative humidity, without dew",
        "percent",
        at_least=1,
        at_most=100,
    ),
    Column("warranty_years", "number", "warranty wanted", "years", above=0, at_most=50),
)
SERVICE_KEYS = (
    Column("log", "text", "service log (CSV); its path is relative to the folder of this file"),
    Column("as_of", "date", "day by which the log was written, not after today; both or neither"),
    Column("accepted", "text", "register of checked cards (CSV, edgestore accept); its path counts as that of the log"),
    Column(
        "change_chance",
        "number",
        "chance that a card lasts until it is due for a change",
        default=0.9,
        above=0,
        at_most=0.9999,
        mend="A percentage is divided by 100.",
    ),
    Column("lead_days", "number", "time until ordered cards arrive", "days", default=30.0, above=0, at_most=1000),
    Column(
        "spares_confidence",
        "number",
        "chance that the spares last until then",
        default=0.95,
        above=0,
        at_most=0.9999,
        mend="A percentage is divided by 100.",
    ),
)
TABLES = {
    "requirements": REQUIREMENT_KEYS,
    "costs": COST_KEYS,
    "document": DOCUMENT_KEYS,
    "card_specification": CARD_SPECIFICATION_KEYS,
    "service": SERVICE_KEYS,
    "outage": OUTAGE_KEYS,
    "beliefs": BELIEF_KEYS,
    "efforts": EFFORT_KEYS,
}
GROUPS, OUTAGE = "groups", "outage"

FORM = "a file as TOML 1.0 has it, or a workbook (XLSX, ODS)"
"""What the settings are to be."""


@dataclass(frozen=True)
class Costs:
    """What cards and visits cost, besides the cards' own prices; units and meaning as ``COST_KEYS`` declares them."""

    visit_price: float
    visit_with_lift_price: float
    horizon_years: float = 10.0
    spare_fraction: float = 0.0
    first_fitting_is_a_visit: bool = True
    currency: str = "currency units"
    broken_promise_price: float | None = None
    budget_per_year: float | None = None

    def __post_init__(self) -> None:
        """Refuse numbers that the file could not hold either."""
        faults: list[Fault] = []
        for key in COST_KEYS:
            if key.name in ("broken_promise_price", "budget_per_year") and getattr(self, key.name) is None:
                continue
            try:
                read_value(getattr(self, key.name), key, key.name)
            except InputError as error:
                faults += error.faults
        if faults:
            raise InputError(faults)


@dataclass(frozen=True)
class Document:
    """What a document says of its maker; empty or None where the file does not say."""

    title: str = ""
    organisation: str = ""
    author: str = ""
    logo: Path | None = None
    date: datetime.date | None = None
    client: str = ""
    reference: str = ""
    revision: str = ""
    valid_until: datetime.date | None = None
    language: str = LANGUAGES[0]
    theme: Path | None = None


@dataclass(frozen=True)
class CardSpecification:
    """What is asked of each card besides what the plan finds: degrees Celsius, percent of relative humidity, years.

    None where nothing is asked.
    """

    temperature_low_c: float | None = None
    temperature_high_c: float | None = None
    humidity_high_percent: float | None = None
    warranty_years: float | None = None


@dataclass(frozen=True)
class Service:
    """How cards in service are looked after; meaning and units as ``SERVICE_KEYS`` declares them."""

    log: Path | None = None
    as_of: datetime.date | None = None
    change_chance: float = 0.9
    lead_days: float = 30.0
    spares_confidence: float = 0.95
    accepted: Path | None = None


@dataclass(frozen=True)
class Settings:
    """The settings of a site.

    Attributes
    ----------
    requirements : mapping of str to float
        What the file asks of every card, by the names of ``REQUIREMENT_KEYS``; only what it states.
    groups : mapping of str to mapping
        Likewise for the cameras of a group, by its name.
    costs : Costs or None
        None where the file has no such table.
    document : Document
        What a document says of its maker.
    card_specification : CardSpecification
        What is asked of each card besides.
    service : Service
        How cards in service are looked after.
    outage : OutageSettings or None
        How the recorder fails; None where the file has no such table.
    beliefs : Beliefs
        What is taken for known where nothing is.
    efforts : mapping of str to float
        What it takes to find something out, by the names of ``EFFORT_KEYS``; only what the file states.
    group_outages : mapping of str to OutageSettings
        How the recorder of a group fails, by its name, where that group has one of its own.
    """

    requirements: Mapping[str, float] = field(default_factory=dict)
    groups: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    costs: Costs | None = None
    document: Document = field(default_factory=Document)
    card_specification: CardSpecification = field(default_factory=CardSpecification)
    service: Service = field(default_factory=Service)
    outage: OutageSettings | None = None
    beliefs: Beliefs = field(default_factory=Beliefs)
    efforts: Mapping[str, float] = field(default_factory=dict)
    group_outages: Mapping[str, OutageSettings] = field(default_factory=dict)


def read_settings(source: Source, name: str = "settings", today: datetime.date | None = None) -> Settings:
    r"""Read a settings file.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the TOML file or of the workbook, or its content.
    name : str
        What messages call the file when ``source`` is its content; a file is called by its own name.
    today : date, optional
        Day after which no service log can have been written; by default the day on this machine's clock.

    Returns
    -------
    Settings
        What the file states.

    Raises
    ------
    InputError
        With every fault of the file: the table and the key, or the row and the column, what was found, what is
        allowed, how to mend it.

    Notes
    -----
    ``TABLES`` says which keys each table may have; ``[groups."NAME"]`` takes those of ``[requirements]``,
    and ``[groups."NAME".outage]`` those of ``[outage]``, from which it has what it does not state. In a workbook a
    row has a setting, its value, and the group where it is for one (:mod:`edgestore.inputs.settings_sheet`).

    References
    ----------
    TOML 1.0.0.

    Examples
    --------
    >>> settings = read_settings(b'[requirements]\nretention_days = 7\n[groups."quay"]\nretention_days = 14\n')
    >>> settings.requirements, settings.groups
    ({'retention_days': 7.0}, {'quay': {'retention_days': 14.0}})
    """
    folder = Path()
    if not isinstance(source, bytes):
        path = Path(source)
        name, folder = printable(path.name), path.absolute().parent
        source = plain_file(path, printable(str(path)), MOST_TOML_BYTES, FORM, "Give the path of the settings.")
    if source.startswith((PACKED, OLD)):
        sheet = read_settings_sheet(source, name, TABLES)
    else:
        mend = "Write texts in quotes, true or false for yes or no, and each key once in its table."
        sheet = SheetSettings(toml_file(source, name, FORM, mend))
    tables = sheet.tables
    faults = unknown_names(tables, [*TABLES, GROUPS], f"{name}, ", "table")
    read = {
        title: read_table(tables[title], keys, place(name, title), faults)
        for title, keys in TABLES.items()
        if title in tables
    }
    if isinstance(tables.get("outage"), dict):
        faults += law_faults(tables["outage"], f"{name}, [outage]")
    groups: dict[str, dict[str, Any]] = {}
    outages: dict[str, dict[str, Any]] = {}
    listed = tables.get(GROUPS, {})
    if not isinstance(listed, dict):
        faults.append(Fault(f"{name}, [{GROUPS}]", as_found(listed), 'tables, each as [groups."NAME"]'))
    else:
        for group, asked in listed.items():
            at = printable(group)
            if isinstance(asked, dict) and OUTAGE in asked:
                own = asked[OUTAGE]
                outages[group] = _group_outage(own, tables.get(OUTAGE), place(name, OUTAGE, at), faults)
                asked = {key: value for key, value in asked.items() if key != OUTAGE}
            groups[group] = read_table(asked, REQUIREMENT_KEYS, place(name, "requirements", at), faults)
    service = read.get("service", {})
    if bool(service.get("log")) != ("as_of" in service):
        found = "a log without as_of" if service.get("log") else "as_of without a log"
        faults.append(
            Fault(
                f"{name}, [service]", found, "both or neither", "The ages in a log are those of the day it was written."
            )
        )
    if service.get("accepted") and not service.get("log"):
        told = Fault(f"{name}, [service]", "accepted without a log", "both or neither", "It is held against a log.")
        faults.append(told)
    if "as_of" in service and service["as_of"] > (latest := latest_day(today)):
        mend = "Correct the year: a log holds no future dates."
        faults.append(Fault(f"{name}, [service] as_of", str(service["as_of"]), f"{latest} or before", mend))
    try:
        beliefs = Beliefs.stated(read.get("beliefs", {}), name)
    except InputError as error:
        faults += error.faults
    if faults := sheet.told(faults):
        raise InputError(faults)
    for file in ("log", "accepted"):
        service[file] = folder / service[file] if service.get(file) else None
    document = read.get("document", {})
    for file in ("logo", "theme"):
        document[file] = folder / document[file] if document.get(file) else None
    return Settings(
        read.get("requirements", {}),
        groups,
        Costs(**read["costs"]) if "costs" in read else None,
        Document(**document),
        CardSpecification(**read.get("card_specification", {})),
        Service(**service),
        outage_settings(read["outage"]) if "outage" in read else None,
        beliefs,
        read.get("efforts", {}),
        {group: outage_settings({**inherited(own, read.get(OUTAGE, {})), **own}) for group, own in outages.items()},
    )


def _group_outage(own: Any, of_site: Any, place: str, faults: list[Fault]) -> dict[str, Any]:
    """Give the values of the outage table of a group; what it must state it may have from that of the site."""
    left = inherited(own, of_site) if isinstance(own, dict) and isinstance(of_site, dict) else {}
    keys = [replace(key, required=key.required and key.name not in left) for key in OUTAGE_KEYS]
    values = read_table(own, keys, place, faults)
    if isinstance(own, dict) and (not left or set(own) & set(OF_LAW)):
        faults += law_faults({**left, **own}, place)
    return values


def group_notes(settings: Settings, name: str, groups: Iterable[str]) -> list[str]:
    """Tell which groups of the settings no camera has, and the nearest that one has."""
    known = sorted(set(groups) - {""})
    notes = []
    for group in (group for group in settings.groups if group not in known):
        near = get_close_matches(group, known, n=1, cutoff=0.6)
        like = f" (is it {shown(near[0])}?)" if near else ""
        notes.append(f"{name}: no camera has the group {shown(group)}{like}; what it asks is not used")
    return notes
