"""Serving without a browser: what answers, who may ask, what is refused, and that nothing stays behind."""

import asyncio
import re
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import urlopen

import anyio
import nbformat.v4 as nb
import psutil
import pytest

from edgestore import bundled, serving, warm_kernel
from edgestore.checks import InputError

pytestmark = [pytest.mark.slow, pytest.mark.landing]

# A shell that runs the tests in the background makes them deaf to SIGINT; a terminal does not.
SERVE = """
import signal, sys
from pathlib import Path
from edgestore import warm_kernel
from edgestore.serving import serve
warm_kernel.WARMED = ()  # no panel is opened here
signal.signal(signal.SIGINT, signal.default_int_handler)
serve(Path(sys.argv[1]), browser=False, lab=sys.argv[2] == "lab")
"""
PNG = b"\x89PNG\r\n\x1a\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("notebooks")
    still = nb.new_code_cell("print('still cell', 'has run')", metadata={"tags": ["still"]})
    live = nb.new_code_cell("print('live cell', 'has run')")
    loaded = nb.new_code_cell(
        "import sys; print('imported before:', 'edgestore.panels.site' in sys.modules)\n"
        "print('widgets:', 'jupyter.widget.control' in get_ipython().kernel.comm_manager.targets)"
    )
    broken = nb.new_code_cell("1 / 0")
    kept = nb.new_code_cell("print('committed cell', 'has run')", metadata={"tags": ["keep_output"]})
    kept.outputs = [nb.new_output("stream", text="as it was committed")]
    cells = [nb.new_markdown_cell("# Start here"), still, loaded, broken, kept, live]
    start = nb.new_notebook(cells=cells)
    (folder / serving.START_PAGE).write_text(nb.writes(start), encoding="utf-8")
    (folder / "picture.png").write_bytes(PNG)
    (folder / "numbers.csv").write_text("a\n1\n", encoding="utf-8")
    return folder


@contextmanager
def served(folder: Path, face: str = "pages") -> Iterator[tuple[subprocess.Popen, str]]:
    """Give the process that serves the folder, and the address that it printed."""
    command = [sys.executable, "-c", SERVE, str(folder), face]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        try:
            address = re.search(r"http\S+", process.stdout.readline())
            assert address, "the server ended before it printed its address"
            yield process, address[0]
        finally:
            process.terminate()


@pytest.fixture(scope="module")
def server(folder: Path) -> Iterator[tuple[subprocess.Popen, str]]:
    with served(folder) as started:
        yield started


@pytest.fixture(scope="module")
def page(server: tuple[subprocess.Popen, str]) -> str:
    return text(server[1])


def children(process: subprocess.Popen) -> list[psutil.Process]:
    return psutil.Process(process.pid).children(recursive=True)


def answer(address: str) -> tuple[int, str]:
    try:
        with urlopen(address) as response:
            return response.status, response.read().decode(errors="replace")
    except HTTPError as error:
        with error:
            return error.code, error.read().decode(errors="replace")


def status(address: str) -> int:
    return answer(address)[0]


def text(address: str) -> str:
    return answer(address)[1]


def test_the_printed_address_leads_to_the_start_page(page):
    assert "Start here" in page
    assert "live cell has run" in page


def test_a_still_cell_is_not_run(page):
    assert "still cell has run" not in page


def test_a_committed_cell_is_shown_as_it_was_and_not_run(page):
    assert "as it was committed" in page
    assert "committed cell has run" not in page


def test_a_cell_that_fails_is_told_and_what_follows_is_run(page):
    assert "ZeroDivisionError" in page
    assert page.index("ZeroDivisionError") < page.index("live cell has run")


@pytest.mark.skipif(not warm_kernel.CAN_FORK, reason="this system cannot fork")
def test_a_kernel_has_the_panels_when_it_starts(page):
    assert "imported before: True" in page


def test_a_page_may_ask_the_kernel_for_all_its_widgets_at_once(page):
    assert "widgets: True" in page  # else it asks for each of some hundred by itself


def test_the_scripts_of_a_page_are_asked_for_before_its_kernel_answers(server, page):
    host = server[1].partition("/voila/")[0]
    asked = re.findall(r'<link rel="preload" as="script" href="(\S+)"', page.partition("</head>")[0])
    assert [name.partition("?")[0].rpartition("/")[2].partition(".")[0] for name in asked] == [
        *("scripts", "voila"),
        *("remoteEntry", "remoteEntry"),  # the widgets, and who shows them
    ]
    assert {status(host + name) for name in asked} == {200}


def test_the_one_file_of_scripts_has_all_that_the_first_script_asks_for(server, page):
    host = server[1].partition("/voila/")[0]
    scripts, main = re.findall(r'<script src="(/voila/static/\S+)"', page)
    held = set(re.findall(r"\.push\(\[\[(\d+)", text(host + scripts)))
    numbers = set(re.findall(r"\.e\((\d+)\)", text(host + main)))
    missing = [n for n in numbers - held if status(f"{host}/voila/static/{n}.voila.js") == 200]
    assert missing == []
    assert len(held) > 60


def test_no_typesetter_of_formulas_is_loaded(server, page):
    host = server[1].partition("/voila/")[0]
    address = re.search(r'"fullMathjaxUrl": "(\S+?)"', page).group(1)
    assert len(text(host + address)) < 1000


@pytest.mark.parametrize("path", ["render/start.ipynb", "tree/", "render/missing.ipynb"])
def test_no_page_loads_anything_from_an_outside_host(server, path):
    html = text(server[1].replace("render/start.ipynb", path))
    loaded = re.findall(r"""(?:src|href)=["']?((?:https?:)?//[^"'\s>]+)""", html)
    assert loaded == []


def test_the_style_and_the_script_of_the_template_are_served(server, page):
    host = server[1].partition("/voila/")[0]
    assets = re.findall(r'(?:src|href)="(/voila/templates/edgestore/static/(?:page|connection)\.\w+[^"]*)"', page)
    assert len(assets) == 3
    assert [status(host + asset) for asset in assets] == [200, 200, 200]


def test_only_127_0_0_1_is_listened_on(server, page):
    processes = [psutil.Process(server[0].pid), *children(server[0])]
    sockets = [one for process in processes for one in process.net_connections("tcp")]
    assert {one.laddr.ip for one in sockets if one.status == psutil.CONN_LISTEN} == {"127.0.0.1"}


def test_without_the_token_the_login_page_answers(server):
    with urlopen(server[1].partition("?")[0]) as response:
        assert "/login" in response.url
        assert "Start here" not in response.read().decode()


@pytest.mark.parametrize(
    ("name", "expected"), [("picture.png", 200), ("numbers.csv", 403), ("start.ipynb", 403), ("../x", 403)]
)
def test_of_the_files_only_pictures_are_served(server, name, expected):
    address = server[1].replace("/render/start.ipynb", f"/files/{name}")
    assert status(address) == expected


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGINT to send to one process")
def test_ctrl_c_ends_the_server_and_its_kernels(folder):
    with served(folder) as (process, address):
        assert status(address) == 200
        kernels = children(process)
        assert kernels
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=30) == 0
        assert psutil.wait_procs(kernels, timeout=10)[1] == []


def test_a_server_that_is_killed_leaves_no_kernel_behind(folder):
    with served(folder) as (process, address):
        assert status(address) == 200
        kernels = children(process)
        assert kernels
        process.kill()
        assert psutil.wait_procs(kernels, timeout=20)[1] == []


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGINT to send to one process")
def test_lab_serves_the_start_page_and_ends_on_ctrl_c(folder):
    with served(folder, "lab") as (process, address):
        with urlopen(address) as response:
            assert "/lab/tree/start.ipynb" in response.url
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=30) == 0


def test_a_port_in_use_is_refused(folder):
    with socket.create_server(("127.0.0.1", 0)) as other:
        taken = other.getsockname()[1]
        with pytest.raises(InputError, match=f"port: is {taken}; must be a port that no other program uses"):
            serving.serve(folder, browser=False, port=taken)


@pytest.mark.parametrize("port", [-1, 0, 80, 65536])
def test_a_port_out_of_range_is_refused(folder, port):
    with pytest.raises(InputError, match=f"port: is {port}; must be 1024 or more and at most 65535"):
        serving.serve(folder, browser=False, port=port)


def test_a_missing_package_of_the_workbook_is_named_with_the_command_that_installs_it(folder, monkeypatch):
    installed = serving.importlib.util.find_spec
    monkeypatch.setattr(
        serving.importlib.util, "find_spec", lambda name: None if name in ("voila", "ipywidgets") else installed(name)
    )
    with pytest.raises(InputError, match=r"no voila, ipywidgets;.* pip install 'edgestore\[workbook\]'"):
        serving.serve(folder, browser=False)


def test_notebooks_that_are_missing_are_told_with_what_to_do(tmp_path, monkeypatch):
    monkeypatch.setattr(bundled, "PACKAGE", tmp_path / "edgestore")
    with pytest.raises(InputError, match=r"no start\.ipynb in .*; .* Reinstall edgestore, or run it from a clone"):
        serving.serve(browser=False)


def test_a_folder_without_the_lists_of_a_site_is_refused_before_anything_is_served(tmp_path):
    with pytest.raises(InputError, match="no list of the cameras"):
        serving.serve(site=tmp_path, browser=False)


def test_a_server_ends_though_a_thread_still_waits_for_work_when_its_loop_has_ended():
    # Ctrl-C or a signal ends the loop of JupyterLab while its last request is under way: the program never ended.
    loop = asyncio.new_event_loop()
    workers = []

    async def request():
        workers.append(await anyio.to_thread.run_sync(threading.current_thread))
        loop.stop()
        await asyncio.sleep(3600)

    under_way = loop.create_task(request())
    loop.run_forever()
    (worker,) = workers
    assert worker.is_alive()
    serving.end_idle_workers()
    worker.join(5)
    assert not worker.is_alive()
    under_way.cancel()
    with suppress(asyncio.CancelledError):
        loop.run_until_complete(under_way)
    loop.close()
