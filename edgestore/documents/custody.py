"""The form that goes with footage that is handed over: custody on one page, disposal on the second. HTML and PDF."""

import hashlib
import tomllib
from collections.abc import Iterable
from datetime import datetime
from functools import partial
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from edgestore.checks import refuse
from edgestore.documents.language import IN_ENGLISH, Language
from edgestore.documents.pdf import pdf
from edgestore.inputs.exported import Exported, sha256sums
from edgestore.inputs.names import looks
from edgestore.look import filled
from edgestore.output import write_whole
from edgestore.text import MADE_WITH, grouped, visible

TEMPLATE = Path(__file__).with_name("template")
FORM = Path(__file__).with_name("custody.toml")
FILE, PRINTED, LIST = "custody.html", "custody.pdf", "sha256sums.txt"

MOST_SHOWN, LONGEST = 5, 28
"""Files whose digests stand on the first page, and letters of their names: more would not stay on one page; the list
has all."""

MOST_NOTICED = 3
"""What was noticed stands on the first page up to so many; more stands on a page of its own, whole."""

DIGEST_LETTERS = 16
"""Letters of the list's digest at the foot of each page: enough to see that the pages belong together."""


def noticed(exported: Exported, language: Language = IN_ENGLISH, longest: int | None = None) -> list[str]:
    """What a reader of exported files should know and would not see, in sentences.

    Parameters
    ----------
    exported : Exported
        The files.
    language : Language
        Language of the sentences.
    longest : int, optional
        Letters of a name that are shown; all when left out.

    Returns
    -------
    list of str
        A sentence for each empty file, link, empty folder, name that cannot be printed, and pair of names that look
        alike.

    Examples
    --------
    >>> from edgestore.inputs.exported import ExportedFile
    >>> empty = ExportedFile(name="gate.mp4", size_bytes=0, sha256="")
    >>> noticed(Exported(folder=Path("export"), files=(empty,)))
    ['gate.mp4 is empty: was it exported whole?']
    """
    say, names = language.say, [file.name for file in exported.files]
    shown = partial(_shown, longest=longest)
    empty = (file.name for file in exported.files if file.size_bytes == 0)
    unseen = (name for name in names if visible(name) != name)
    return [
        *(say("{name} is empty: was it exported whole?", name=shown(name)) for name in empty),
        *(
            say(
                "{name} is a link to {target}, which was not followed: export what it leads to.",
                name=shown(link.name),
                target=shown(link.target),
            )
            for link in exported.links
        ),
        *(
            say("The folder {name} has no file in it: was it exported whole?", name=shown(name))
            for name in exported.empty_folders
        ),
        *(
            say(
                "{name} has characters in its name that cannot be printed; {list} has it byte for byte.",
                name=shown(name),
                list=LIST,
            )
            for name in unseen
        ),
        *(
            say(
                "{name} and {other} look alike: some systems take them for one name.",
                name=shown(name),
                other=shown(other),
            )
            for name, other in _alike(names)
        ),
    ]


def _shown(name: str, longest: int | None) -> str:
    """A name with what cannot be seen replaced; a long one loses its middle, since its end tells it from others."""
    name = visible(name)
    if longest is None or len(name) <= longest:
        return name
    head = (longest - 1) // 2
    return f"{name[:head]}…{name[head + 1 - longest :]}"


def _alike(names: Iterable[str]) -> list[tuple[str, str]]:
    """Pairs of names that differ in their case, their blanks or the form of their letters alone."""
    first: dict[str, str] = {}
    pairs = []
    for name in names:
        as_seen, _ = looks(name)
        if as_seen in first:
            pairs.append((first[as_seen], name))
        first.setdefault(as_seen, name)
    return pairs


def custody_form(
    exported: Exported | None = None,
    when: datetime | None = None,
    *,
    by: str = "",
    machine: str = "",
    language: Language = IN_ENGLISH,
) -> str:
    """The form as one page of HTML that holds everything it shows; every text is escaped.

    Parameters
    ----------
    exported : Exported, optional
        The files that are handed over; their digests stay to be written by hand when left out.
    when : datetime, optional
        When the last of them was read, UTC; asked for with ``exported``.
    by, machine : str
        Who ran the program, and on which machine; to be written by hand when left out.
    language : Language
        Language of the form.

    Returns
    -------
    str
        The page, the same for the same files and time.
    """
    environment = Environment(loader=FileSystemLoader(TEMPLATE), autoescape=True, undefined=StrictUndefined)
    style = Markup(filled((TEMPLATE / "page.css").read_text(encoding="utf-8")))  # our own file
    files = exported.files if exported else ()
    listed = sha256sums(exported) if exported else b""
    digest = hashlib.sha256(listed).hexdigest()
    shown = files if len(files) <= MOST_SHOWN else files[: MOST_SHOWN - 1]
    every = noticed(exported, language) if exported else []
    return environment.get_template("custody.html.j2").render(
        css=style,
        say=language.say,
        many=language.many,
        code=language.code,
        made_with=f"{MADE_WITH}; {LIST} {digest[:DIGEST_LETTERS]}…" if exported else MADE_WITH,
        version=MADE_WITH,
        form=tomllib.loads(FORM.read_text(encoding="utf-8")),
        given={"by": by, "machine": machine},
        folder=visible(exported.folder.resolve().name) if exported else "",
        has_files=exported is not None,
        count=len(files),
        size=grouped(str(exported.size_bytes)) if exported else "",
        when=f"{when:%Y-%m-%d %H:%M} UTC" if when else "",
        list_name=LIST,
        list_bytes=grouped(str(len(listed))),
        list_sha256=digest,
        shown=[(_shown(file.name, LONGEST), grouped(str(file.size_bytes)), file.sha256) for file in shown],
        noticed=noticed(exported, language, LONGEST)[:MOST_NOTICED] if exported else [],
        every=every if len(every) > MOST_NOTICED else [],
    )


def check_unwritten(folder: Path) -> None:
    """Refuse a folder that has a form or a list already: what may have been handed over is not written over."""
    for name in (FILE, PRINTED, LIST):
        if (folder / name).exists():
            raise refuse(str(folder / name), "a file that is there", "none", "Write to another folder, or move it.")


def write_custody(
    folder: Path,
    exported: Exported | None = None,
    when: datetime | None = None,
    *,
    by: str = "",
    machine: str = "",
    language: Language = IN_ENGLISH,
    with_pdf: bool = True,
) -> list[Path]:
    """Write the form into a folder, and the list of digests beside it.

    Parameters
    ----------
    folder : Path
        Where to write; made when it does not exist.
    exported : Exported, optional
        The files that are handed over.
    when : datetime, optional
        When the last of them was read, UTC.
    by, machine : str
        Who ran the program, and on which machine.
    language : Language
        Language of the form.
    with_pdf : bool
        Whether to print it as PDF too.

    Returns
    -------
    list of Path
        The form as HTML, as PDF where asked, and the list where there are files.

    Raises
    ------
    InputError
        When the folder cannot be written to, or has a form already, or WeasyPrint is missing.
    """
    check_unwritten(folder)
    page = custody_form(exported, when, by=by, machine=machine, language=language)
    files = {FILE: page.encode(errors="replace")}
    if with_pdf:
        files[PRINTED] = pdf(page)
    if exported:
        files[LIST] = sha256sums(exported)
    return write_whole(folder, files)
