"""Serve the workbook to a browser on this machine, and to nobody else.

Voila (or JupyterLab) runs inside this process, so that Ctrl-C reaches it at once and no child is left behind.
It listens on 127.0.0.1 only and wants a token, which is part of the printed address.
"""

import importlib
import importlib.util
import logging
import os
import secrets
import socket
import sys
import threading
import time
import webbrowser
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType
from typing import Any, cast

from jinja2 import BytecodeCache, Environment
from jinja2.bccache import Bucket

from edgestore.bundled import bundled
from edgestore.checks import in_range, refuse
from edgestore.docs_site import put_pages
from edgestore.inputs.site_folder import OWN_SITE, site_folder
from edgestore.page_scripts import EXTENSIONS, write_scripts
from edgestore.panels.typed import MAX_UPLOAD_BYTES

HOST = "127.0.0.1"
START_PAGE = "start.ipynb"
WORKBOOK_EXTRA = ("voila", "jupyterlab", "ipywidgets", "anywidget", "ipykernel")
CULL_IDLE_S = 120
"""How long a kernel (some 100 MB) outlives the page that used it; the kernel of an open page stays."""

MESSAGE_BYTES = 1_000_000
"""What a message takes besides the file in it, amply."""

_PACKAGE = Path(__file__).resolve().parent


def workbook_folder() -> Path:
    """Give the folder of the workbook's notebooks.

    Returns
    -------
    Path
        The folder that holds ``start.ipynb``.

    Raises
    ------
    InputError
        When they are not there.

    Examples
    --------
    >>> workbook_folder().name
    'notebooks'
    """
    folder = bundled("notebooks")
    if not (folder / START_PAGE).is_file():
        mend = "Reinstall edgestore, or run it from a clone of the project, installed there with: pip install -e ."
        raise refuse("workbook", f"no {START_PAGE} in {folder}", "the project's notebooks", mend)
    return folder


def serve(
    folder: Path | None = None,
    *,
    site: Path | None = None,
    lab: bool = False,
    browser: bool = True,
    port: int | None = None,
) -> None:
    """Serve the notebooks until Ctrl-C, and print the address of the start page.

    Parameters
    ----------
    folder : Path, optional
        The folder that holds ``start.ipynb``; :func:`workbook_folder` when left out.
    site : Path, optional
        Folder of the reader's own site, from which the pages start; the demo when left out.
    lab : bool
        Open the notebooks in JupyterLab, where cells can be read and changed, instead of as pages.
    browser : bool
        Open the start page in the browser.
    port : int, optional
        Port to listen on, 1024 to 65535; any free one when left out.

    Raises
    ------
    InputError
        When the notebooks or a package of the workbook are missing, or the port cannot be used.
    """
    _require_workbook_extra()
    folder = workbook_folder() if folder is None else folder
    if site is not None:
        os.environ[OWN_SITE] = str(site_folder(site.resolve()).folder)
    port = _free_port(port)
    token = secrets.token_urlsafe()
    page = "lab/tree" if lab else "voila/render"
    address = f"http://{HOST}:{port}/{page}/{START_PAGE}?token={token}"
    threading.Thread(target=_announce, args=(address, port, browser), daemon=True).start()
    importlib.import_module("edgestore.warm_kernel").warm_up()
    # The server's check of addresses, which nothing here uses, would build 38 grammars first: 3 s of waiting.
    sys.modules.setdefault("rfc3987_syntax", cast(ModuleType, None))
    # At each page tornado warns of a ping timeout that jupyter_server sets in other units.
    logging.getLogger("tornado").setLevel(logging.ERROR)
    with TemporaryDirectory() as made:
        if lab:
            put_pages(Path(made) / "docs")
            options = _lab_options(folder, port, token, Path(made))
            try:
                importlib.import_module("jupyterlab.labapp").LabApp.launch_instance(options)
            finally:
                end_idle_workers()
        else:
            _serve_pages(folder, port, token, Path(made))


def end_idle_workers() -> None:
    """End the threads of AnyIO that outlived its loop: they wait for work for ever, and the program for them."""
    worker = importlib.import_module("anyio._backends._asyncio").WorkerThread
    for thread in threading.enumerate():
        if isinstance(thread, worker):
            thread.stop()


def _serve_pages(folder: Path, port: int, token: str, made: Path) -> None:
    """Serve the notebooks as pages; what is made for this run alone stands in ``made``."""
    paths = [str(_PACKAGE / "voila_template"), str(made), os.environ.get("JUPYTER_PATH", "")]
    os.environ["JUPYTER_PATH"] = os.pathsep.join(filter(None, paths))
    static = made / "nbconvert" / "templates" / "edgestore" / "static"
    scripts = write_scripts(static)
    put_pages(static / "docs")
    large = {"websocket_max_message_size": MAX_UPLOAD_BYTES + MESSAGE_BYTES}
    _compile_templates_once()
    voila = importlib.import_module("voila.app").Voila
    voila.launch_instance(_voila_options(folder, port, token, scripts), tornado_settings=large)


def _voila_options(folder: Path, port: int, token: str, scripts: str) -> list[str]:
    return [
        str(folder),
        f"--Voila.ip={HOST}",
        f"--Voila.port={port}",
        "--Voila.port_retries=0",
        f"--Voila.token={token}",
        "--Voila.open_browser=False",
        "--Voila.log_level=ERROR",
        "--VoilaConfiguration.template=edgestore",
        "--VoilaConfiguration.allow_template_override=NO",
        "--VoilaConfiguration.show_tracebacks=True",
        f"--VoilaConfiguration.resources=scripts={scripts}",
        # Other extensions that are installed beside these stay out of the pages.
        *(f"--VoilaConfiguration.extension_allowlist={name}" for name in EXTENSIONS),
        # A still picture is for readers without a kernel; removed here, it is not even drawn.
        "--TagRemovePreprocessor.enabled=True",
        "--TagRemovePreprocessor.remove_cell_tags=still",
        # What is committed with its outputs is shown as it is; a panel runs, and its failure is shown in its place.
        "--VoilaExecutor.skip_cells_with_tag=keep_output",
        "--VoilaExecutor.allow_errors=True",
        # The values of the look, as variables of the pages' stylesheet.
        "--TemplateExporter.filters=look=edgestore.look.variables",
        "--KernelManager.transport_encryption=auto",
        f"--MappingKernelManager.cull_idle_timeout={CULL_IDLE_S}",
        f"--MappingKernelManager.cull_interval={CULL_IDLE_S // 4}",
    ]


def _compile_templates_once() -> None:
    """Keep the templates of a page as they were compiled: Voila, left to itself, compiles all 15 for each page."""
    exporter: Any = importlib.import_module("nbconvert.exporters.templateexporter").TemplateExporter
    create, kept = exporter._create_environment, _Compiled()

    def create_environment(self: object) -> Environment:
        environment: Environment = create(self)
        environment.bytecode_cache = kept
        return environment

    exporter._create_environment = create_environment


class _Compiled(BytecodeCache):
    """Templates as they were compiled, by what they hold."""

    def __init__(self) -> None:
        self._codes: dict[tuple[str, str], bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if code := self._codes.get((bucket.key, bucket.checksum)):
            bucket.bytecode_from_string(code)

    def dump_bytecode(self, bucket: Bucket) -> None:
        self._codes[bucket.key, bucket.checksum] = bucket.bytecode_to_string()


def _lab_options(folder: Path, port: int, token: str, static: Path) -> list[str]:
    return [
        f"--ServerApp.root_dir={folder}",
        f"--ServerApp.ip={HOST}",
        f"--ServerApp.port={port}",
        "--ServerApp.port_retries=0",
        f"--IdentityProvider.token={token}",
        "--ServerApp.open_browser=False",
        "--ServerApp.log_level=ERROR",
        # Ctrl-C asks nothing, and root may run it, as with Voila.
        "--ServerApp.answer_yes=True",
        "--ServerApp.allow_root=True",
        # The site of docs/, which the help menu leads to; it is the library's, and asks no token.
        f"--ServerApp.extra_static_paths={static}",
        f"--LabApp.app_settings_dir={_PACKAGE / 'lab_settings'}",
        # No news, no look for updates, no list of extensions: no outside host is asked.
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
        "--KernelManager.transport_encryption=auto",
    ]


def _require_workbook_extra() -> None:
    missing = [name for name in WORKBOOK_EXTRA if importlib.util.find_spec(name) is None]
    if missing:
        mend = "Install the extra: pip install 'edgestore[workbook]'"
        raise refuse("workbook", f"no {', '.join(missing)}", "the packages of the workbook extra", mend)


def _free_port(port: int | None) -> int:
    if port is not None:
        in_range("port", port, at_least=1024, at_most=65535)
    try:
        with socket.create_server((HOST, port or 0)) as listener:
            free: int = listener.getsockname()[1]
            return free
    except OSError:
        mend = "Leave the port out to have a free one chosen."
        raise refuse("port", port, "a port that no other program uses", mend) from None


def _announce(address: str, port: int, browser: bool) -> None:
    while True:
        try:
            socket.create_connection((HOST, port)).close()
            break
        except ConnectionRefusedError:
            time.sleep(0.1)
    print(f"The workbook is at {address}\nPress Ctrl-C to stop it.", flush=True)
    if browser:
        webbrowser.open(address)
