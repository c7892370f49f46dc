"""Serve the workbook to a browser on this machine, and to nobody else.

Voila (or JupyterLab) runs inside this process, so that Ctrl-C reaches it at once and no child is left behind.
It listens on 127.0.0.1 only and wants a token, which is in the address that is printed.
"""

import importlib
import importlib.util
import os
import secrets
import socket
import threading
import time
import webbrowser
from pathlib import Path

from edgestore.checks import in_range, refuse

HOST = "127.0.0.1"
START_PAGE = "start.ipynb"
WORKBOOK_EXTRA = ("voila", "jupyterlab", "ipywidgets", "ipykernel")
CULL_IDLE_S = 120
"""A kernel (some 100 MB) whose page was closed is ended after this time; a page left open keeps its kernel."""

_PACKAGE = Path(__file__).resolve().parent


def workbook_folder() -> Path:
    """Give the folder of the workbook's notebooks, which stands beside the package in a clone.

    Returns
    -------
    Path
        The folder that holds ``start.ipynb``.

    Raises
    ------
    InputError
        When the package does not run from a clone.

    Examples
    --------
    >>> workbook_folder().name
    'notebooks'
    """
    folder = _PACKAGE.parent / "notebooks"
    if not (folder / START_PAGE).is_file():
        mend = "Run edgestore from a clone of the project, installed there with: pip install -e ."
        raise refuse("workbook", f"no {START_PAGE} in {folder}", "the notebooks of the project", mend)
    return folder


def serve(folder: Path | None = None, *, lab: bool = False, browser: bool = True, port: int | None = None) -> None:
    """Serve a folder of notebooks until Ctrl-C, and print the address of its start page.

    Parameters
    ----------
    folder : Path, optional
        The folder that holds ``start.ipynb``; the project's own notebooks when left out.
    lab : bool
        Open the notebooks in JupyterLab, to read and change their cells, instead of as pages.
    browser : bool
        Open the start page in the browser.
    port : int, optional
        Port to listen on, 1 to 65535; any free one when left out.

    Raises
    ------
    InputError
        When the notebooks, a package of the workbook or the port is missing.
    """
    _require_workbook_extra()
    folder = workbook_folder() if folder is None else folder
    port = _free_port(port)
    # By the environment, since other users of the machine can read a command line.
    token = os.environ["JUPYTER_TOKEN"] = secrets.token_urlsafe()
    page = "lab/tree" if lab else "voila/render"
    address = f"http://{HOST}:{port}/{page}/{START_PAGE}?token={token}"
    threading.Thread(target=_announce, args=(address, port, browser), daemon=True).start()
    if lab:
        importlib.import_module("jupyterlab.labapp").LabApp.launch_instance(_lab_options(folder, port))
    else:
        templates = [str(_PACKAGE / "voila_template"), os.environ.get("JUPYTER_PATH", "")]
        os.environ["JUPYTER_PATH"] = os.pathsep.join(filter(None, templates))
        importlib.import_module("voila.app").Voila.launch_instance(_voila_options(folder, port))


def _voila_options(folder: Path, port: int) -> list[str]:
    return [
        str(folder),
        f"--Voila.ip={HOST}",
        f"--Voila.port={port}",
        "--Voila.port_retries=0",
        "--Voila.open_browser=False",
        "--Voila.auto_token=True",
        "--Voila.log_level=WARN",
        "--VoilaConfiguration.template=edgestore",
        "--VoilaConfiguration.allow_template_override=NO",
        "--VoilaConfiguration.show_tracebacks=True",
        # Other JupyterLab extensions of the environment stay out of our pages.
        "--VoilaConfiguration.extension_allowlist=@jupyter-widgets/jupyterlab-manager",
        "--VoilaConfiguration.extension_allowlist=@voila-dashboards/widgets-manager8",
        # A still picture is for readers who have no kernel; removed here, it is not even drawn.
        "--TagRemovePreprocessor.enabled=True",
        "--TagRemovePreprocessor.remove_cell_tags=still",
        f"--MappingKernelManager.cull_idle_timeout={CULL_IDLE_S}",
        f"--MappingKernelManager.cull_interval={CULL_IDLE_S // 4}",
    ]


def _lab_options(folder: Path, port: int) -> list[str]:
    return [
        f"--ServerApp.root_dir={folder}",
        f"--ServerApp.ip={HOST}",
        f"--ServerApp.port={port}",
        "--ServerApp.port_retries=0",
        "--ServerApp.open_browser=False",
        "--ServerApp.log_level=WARN",
        # Ctrl-C ends it at once, and root may run it, as with Voila.
        "--ServerApp.answer_yes=True",
        "--ServerApp.allow_root=True",
        # No news, no update check, no list of extensions: nothing is asked of an outside host.
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
    ]


def _require_workbook_extra() -> None:
    missing = [name for name in WORKBOOK_EXTRA if importlib.util.find_spec(name) is None]
    if missing:
        mend = 'Install them with: pip install -e ".[workbook]"'
        raise refuse("workbook", f"no {', '.join(missing)}", "the packages of the workbook extra", mend)


def _free_port(port: int | None) -> int:
    if port is not None:
        in_range("port", port, at_least=1, at_most=65535)
    with socket.socket() as listener:
        try:
            listener.bind((HOST, port or 0))
        except OSError as error:
            raise refuse("port", f"{port}, {error.strerror}", "a free port", "Leave it out.") from None
        free: int = listener.getsockname()[1]
        return free


def _announce(address: str, port: int, browser: bool) -> None:
    while True:
        try:
            socket.create_connection((HOST, port)).close()
            break
        except ConnectionRefusedError:
            time.sleep(0.1)
    print(f"The workbook is at {address}\nPress Ctrl-C here to end it.", flush=True)
    if browser:
        webbrowser.open(address)
