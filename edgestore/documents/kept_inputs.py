"""The inputs of a proposal as its pack keeps them: copies of the files read, of video the digest alone; read again."""

import datetime
import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from edgestore.checks import InputError, refuse
from edgestore.documents.alternatives import ALTERNATIVES, PROPOSED, Alternative, alternatives
from edgestore.documents.content import Proposal
from edgestore.inputs.footage import clip_files
from edgestore.inputs.sheet import path_and_sheet
from edgestore.output import MANIFEST, changed_files, manifest
from edgestore.plain_file import MOST_LIST_BYTES, plain_file
from edgestore.plan.input_file import CAMERAS, CARDS, CHECKED, LOG, SETTINGS, InputFile
from edgestore.plan.read import read_lists, read_other
from edgestore.plan.requirements import Requirements
from edgestore.plan.site import Site
from edgestore.plan.site_plan import SitePlan, site_plan
from edgestore.plan.visit_calendar import VisitCalendar, visit_calendar

INPUTS, CONTENTS = "inputs.json", "README.txt"
"""The file that lists what a pack was made from, and the one that says what is in the pack."""

FOOTAGE, OTHER, OTHER_LOG = "footage", "alternative", "alternative_log"

NAMES = {
    CAMERAS: "input_cameras",
    CARDS: "input_cards",
    SETTINGS: "input_settings",
    LOG: "input_service_log",
    CHECKED: "input_cards_checked",
    "event_log": "input_event_log",
    "encoder_file": "input_encoder",
    OTHER: "input_alternative",
    OTHER_LOG: "input_log_of_alternative",
}
"""How copies are called; no name of the user's is in them."""

SUFFIXES = {".csv", ".xlsx", ".ods", ".toml", ".xml", ".sdp", ".txt", ".json"}
"""What a copy keeps of the name of its file."""

HASHED_AT_ONCE = 1 << 20


def kept_inputs(proposal: Proposal) -> dict[str, bytes]:
    """Copy what a proposal was made from.

    Parameters
    ----------
    proposal : Proposal
        The proposal; its site tells its files.

    Returns
    -------
    dict of str to bytes
        The copies and ``INPUTS`` by file name; nothing for a site that was not read from files.

    Raises
    ------
    InputError
        When a file is no longer there.
    """
    plan = proposal.plan
    if not plan.site.inputs:
        return {}
    files: dict[str, bytes] = {}
    listed = [_keep(file, files) for file in plan.site.inputs]
    for one in proposal.against:
        site = one.plan.site
        entry = _keep(InputFile(OTHER, one.name, site.inputs[-1].source), files) | {"asked": _asked(site)}
        if site.inputs[-1].role == SETTINGS and site.log is not None:
            log = site.settings.service.log
            assert log is not None
            entry["log"] = _keep(InputFile(OTHER_LOG, Path(log).name, log), files)["copy"]
        listed.append(entry)
    asked, date = _asked(plan.site), proposal.front.date.isoformat()
    record = {"kinds": plan.kinds, "date": date, "asked": asked, "inputs": listed}
    return {**files, INPUTS: json.dumps(record, indent=1, ensure_ascii=False).encode(errors="replace")}


def _asked(site: Site) -> dict[str, Any]:
    """What a site asks of all cameras."""
    return asdict(site.requirements or Requirements(**site.settings.requirements))


def _keep(file: InputFile, files: dict[str, bytes]) -> dict[str, Any]:
    """Put a copy of a file among others, of footage none; give its entry in ``INPUTS``."""
    entry: dict[str, Any] = {"role": file.role, "name": file.name}
    if file.role == FOOTAGE:
        assert isinstance(file.source, Path)
        return {**entry, "zone": file.zone, "said": _plain(file.said), "clips": _clips(file.source)}
    content = file.source
    if not isinstance(content, bytes):
        path, _ = path_and_sheet(content)
        content = plain_file(path, path.name, MOST_LIST_BYTES, "a file as when it was read", "Plan the site again.")
    suffix = path_and_sheet(Path(file.name))[0].suffix.lower()
    stem, suffix = NAMES[file.role], suffix if suffix in SUFFIXES else ""
    number = 1 + sum(name.startswith(stem) for name in files)
    is_one = file.role in (CAMERAS, CARDS, SETTINGS, LOG, CHECKED)
    copy = f"{stem}{suffix}" if is_one else f"{stem}_{number}{suffix}"
    files[copy] = content
    return {**entry, "copy": copy, "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}


def _clips(source: Path) -> list[dict[str, Any]]:
    """Name, size and digest of each clip of some footage."""
    clips, _, _ = clip_files([source])
    return [{"name": clip.name, "bytes": clip.stat().st_size, "sha256": _digest(clip)} for clip in clips]


def _digest(clip: Path) -> str:
    digest = hashlib.sha256()
    with clip.open("rb") as file:
        while part := file.read(HASHED_AT_ONCE):
            digest.update(part)
    return digest.hexdigest()


def _plain(said: Mapping[str, Any]) -> dict[str, Any]:
    """What footage said as JSON can hold it, to the last digit: nothing for NaN."""
    told = {name: value.tolist() if isinstance(value, np.ndarray) else value for name, value in said.items()}
    return {name: None if isinstance(value, float) and math.isnan(value) else value for name, value in told.items()}


def _said(plain: Mapping[str, Any]) -> dict[str, Any]:
    """The same read again."""
    told = {name: math.nan if value is None and name != "measured_week" else value for name, value in plain.items()}
    return {name: np.array(value) if isinstance(value, list) else value for name, value in told.items()}


@dataclass(frozen=True)
class KeptPack:
    """A pack that was written before.

    Attributes
    ----------
    folder : Path
        Where it is.
    version : str
        The version that made it.
    changed : tuple of str
        Names of its files that are not as they were written, that are missing or were added.
    inputs : tuple of mapping
        What it was made from, as ``INPUTS`` lists it.
    plan : SitePlan
        The plan, made anew from the copies.
    date : date
        Date of its document.
    """

    folder: Path
    version: str
    changed: tuple[str, ...]
    inputs: tuple[Mapping[str, Any], ...]
    plan: SitePlan
    date: datetime.date

    @cached_property
    def visits(self) -> VisitCalendar:
        """The visits and the bill, from the date of the document on."""
        return visit_calendar(self.plan.site, self.plan.plan, self.date, in_service=self.plan.calendar)

    @cached_property
    def alternatives(self) -> pd.DataFrame:
        """The alternatives side by side, planned anew; nothing where the proposal had none."""
        others = []
        for one in self.inputs:
            if one["role"] == OTHER:
                log = self.folder / Path(one["log"]).name if one.get("log") else None
                content = (self.folder / Path(one["copy"]).name).read_bytes()
                other = read_other(self.plan.site, (one["name"], content), log).asking(Requirements(**one["asked"]))
                others.append(Alternative(one["name"], site_plan(other, self.plan.kinds, with_reasons=False)))
        return alternatives(Alternative(PROPOSED, self.plan), others, self.date)

    def copy(self, role: str, name: str = "") -> str:
        """Name of the copy of a file; empty for none."""
        named = (one for one in self.inputs if one["role"] == role and name in ("", one["name"]))
        return str(next(named, {}).get("copy", ""))


def read_pack(folder: Path) -> KeptPack:
    """Read a pack, and plan its site anew from the inputs that it keeps.

    Parameters
    ----------
    folder : Path
        A folder that ``edgestore propose`` wrote.

    Returns
    -------
    KeptPack
        What is in it, and which of its files were changed.

    Raises
    ------
    InputError
        When it is no such folder, or the inputs cannot be read; files that were changed are named then.
    """
    changed = changed_files(folder)
    try:
        record = json.loads(plain_file(folder / INPUTS, INPUTS, MOST_LIST_BYTES, "the list of a pack's inputs"))
        inputs = tuple(dict(one) for one in record["inputs"])
        date = datetime.date.fromisoformat(record["date"])
        plan = site_plan(_site(folder, inputs, record["asked"]), record["kinds"])
    except (InputError, LookupError, TypeError, AttributeError, ValueError) as error:
        if not changed and isinstance(error, InputError):
            raise
        named = f"changed since it was written: {', '.join(changed)}" if changed else f"an {INPUTS} of another kind"
        found, mend = (
            f"{named}; so the plan cannot be made from it ({error})",
            "Ask for the pack as it was handed over.",
        )
        raise refuse(str(folder), found, "a pack as it was written", mend) from None
    return KeptPack(folder, str(manifest(folder)["version"]), changed, inputs, plan, date)


def _site(folder: Path, inputs: tuple[dict[str, Any], ...], asked: Mapping[str, Any]) -> Site:
    """Read the site from the copies."""
    kept: dict[tuple[str, str, str], Path | dict[str, Any]] = {}
    lists: dict[str, Path] = {}
    for one in inputs:
        if one["role"] == FOOTAGE:
            kept[FOOTAGE, one["name"], one["zone"]] = _said(one["said"])
            continue
        copy = folder / Path(one["copy"]).name
        kept[one["role"], one["name"], ""] = copy
        _, sheet = path_and_sheet(Path(one["name"]))
        lists[one["role"]] = Path(f"{copy}#{sheet}") if sheet else copy
    site = read_lists(lists[CAMERAS], lists[CARDS], lists.get(SETTINGS), kept=kept)
    return site.asking(Requirements(**asked))


def contents(files: Mapping[str, bytes]) -> bytes:
    """Say in plain words what is in a pack.

    Parameters
    ----------
    files : mapping of str to bytes
        Its files.

    Returns
    -------
    bytes
        Text, UTF-8.
    """
    lines = [f"{name}: {what}" for name, what in WHAT.items() if name in files]
    copies = sorted(name for name in files if name.startswith("input_"))
    return "\n".join([*lines, "", KEPT.format(copies=", ".join(copies) or "none", manifest=MANIFEST), ""]).encode()


WHAT = {
    "proposal.html": "the proposal; proposal.pdf is the same to print and to sign, where it was made",
    "plan.xlsx": "the plan, the bill, how each figure was worked out, and what is asked and where it is answered",
    "plan.csv": "a row a camera: its card, chances, years, costs, and what they rest on",
    "specification.csv": "a row a camera: what is asked of its card",
    "beliefs.csv": "what is taken for known of each camera and card",
    "untested_card.csv": "what is assumed of a card that nobody has tested, the published figures nearest to it, and"
    " what would replace it",
    "replacements.csv": "the cards in service, and when each is replaced",
    "visits.ics": "the visits, for a calendar program",
    ALTERNATIVES: "the proposal and what stands beside it, a row each",
    INPUTS: "what the proposal was made from: each file with its size and SHA-256 digest",
}

KEPT = """\
Copies of the inputs: {copies}.
The copies are the files as they were read, byte by byte: they hold the names and the places of the cameras and whatever
else somebody wrote in these files, notes and columns that were not used too. Of footage only the size, the digest and
the rates measured are kept, no picture. Who must not see the inputs gets the document alone.

edgestore explain FOLDER "CAMERA" FIGURE prints how a figure was worked out, computes it anew from these copies and says
whether any file of the pack was changed. {manifest} has the digest of every file. A digest shows a change; it does not
show who made it: keep a copy of {manifest}, or its digest, apart from the pack."""
