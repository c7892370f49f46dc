"""Kernels that start at once: each is forked from a process that has imported, and answered once, what a page asks.

To import it takes longer than all the rest of opening a page, and a first answer several times as long as the next.
The server calls :func:`warm_up` when it starts; pages that are opened before all is warm get a kernel that is less so.
Where the system cannot fork, Jupyter starts its kernels as it always does.
"""

import asyncio
import gc
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import traceback
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from multiprocessing.connection import Connection
from typing import Any, cast

import psutil
from jupyter_client.connect import KernelConnectionInfo
from jupyter_client.provisioning.factory import KernelProvisionerFactory
from jupyter_client.provisioning.local_provisioner import LocalProvisioner

NAME = "edgestore-warm"
"""The entry point by which Jupyter finds the provisioner."""

CAN_FORK = hasattr(os, "fork") and hasattr(signal, "SIGCHLD")
LAUNCHER = ["-m", "ipykernel_launcher"]
LOOK_S = 0.5
"""How often a kernel looks whether the server is there."""

FIRST_IMPORTED = ("ipykernel.kernelapp", "ipykernel.debugger", "edgestore.panels.site")
"""Without these no kernel is forked: they are most of what a page imports."""

WARMED = (
    *(("edgestore.panels.hold", "holds_panel"), ("edgestore.panels.site", "site_panel")),
    *(("edgestore.panels.visits", "visits_panel"), ("edgestore.panels.change", "upkeep_panel")),
    *(("edgestore.panels.first", "first_panel"), ("edgestore.panels.what_if", "what_if_panel")),
    *(("edgestore.panels.one_card", "chances_panel"), ("edgestore.panels.certainty", "sure_panel")),
    *(("edgestore.panels.footage", "writes_panel"), ("edgestore.panels.life", "lasts_panel")),
    *(("edgestore.training.lessons.page", "LessonPage"), ("edgestore.training.exercises.page", "ExercisesPage")),
    *(("edgestore.training.exercises.class_page", "ClassPage"), ("edgestore.panels.outage", "saves_panel")),
    *(("edgestore.training.fitting.page", "GuidePage"), ("edgestore.panels.flash_wear", "flash_panel")),
    ("edgestore.panels.export", "export_panel"),
    ("edgestore.panels.proposal", ""),  # imported alone: a document takes longer to write than anybody waits
)
"""What is shown once by the process from which kernels are forked: module and name, what most people open first."""


class Nursery:
    """The process from which kernels are forked; it ends with this one, and so do its kernels."""

    def __init__(self) -> None:
        ours, theirs = socket.socketpair()
        with theirs:
            code = f"from edgestore.warm_kernel import nurse; nurse({theirs.fileno()}, {WARMED})"
            # A session of its own: Ctrl-C in the terminal is for the server, which ends its kernels itself.
            subprocess.Popen([sys.executable, "-c", code], pass_fds=[theirs.fileno()], start_new_session=True)
        self._asked = Connection(ours.detach())
        self._one_at_a_time = threading.Lock()

    def fork(self, arguments: Sequence[str], env: dict[str, str], cwd: str | None) -> int:
        """Give the process number of a new kernel; OSError or EOFError where the process has ended."""
        with self._one_at_a_time:
            self._asked.send_bytes(json.dumps([arguments, env, cwd]).encode())
            return int(self._asked.recv_bytes())


class ForkedKernel:
    """A forked kernel as Jupyter knows a process: by ``poll``, ``wait`` and ``send_signal``, its output inherited."""

    stdin = stdout = stderr = None

    def __init__(self, pid: int) -> None:
        self.pid = pid
        self._process = psutil.Process(pid)

    def poll(self) -> int | None:
        """Give None while the kernel runs, else 0: how it ended, its parent knows."""
        with suppress(psutil.NoSuchProcess):
            if self._process.is_running() and self._process.status() != psutil.STATUS_ZOMBIE:
                return None
        return 0

    def wait(self, timeout: float | None = None) -> int:
        """Wait for the end of the kernel."""
        try:
            self._process.wait(timeout)
        except psutil.TimeoutExpired:
            raise subprocess.TimeoutExpired("kernel", timeout or 0) from None
        return 0

    def send_signal(self, signum: int) -> None:
        """Send a signal to the kernel, if it runs."""
        with suppress(psutil.NoSuchProcess):
            self._process.send_signal(signum)

    def terminate(self) -> None:
        """Ask the kernel to end."""
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        """End the kernel."""
        self.send_signal(signal.SIGKILL)


class WarmProvisioner(LocalProvisioner):
    """Starts a Python kernel as a fork, and any other as Jupyter does."""

    nursery: Nursery | None = None

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> KernelConnectionInfo:
        """Start a kernel by the command that would start it as a program."""
        if self.nursery is None or cmd[1:3] != LAUNCHER:
            return await super().launch_kernel(cmd, **kwargs)
        try:
            pid = await asyncio.to_thread(self.nursery.fork, cmd[3:], kwargs["env"], kwargs.get("cwd"))
        except (OSError, EOFError):
            return await super().launch_kernel(cmd, **kwargs)
        self.process, self.pid = cast(Any, ForkedKernel(pid)), pid
        return self.connection_info


def warm_up() -> None:
    """Start the process from which kernels are forked, and have Jupyter fork them from it."""
    if CAN_FORK:
        WarmProvisioner.nursery = Nursery()
        KernelProvisionerFactory.instance().default_provisioner_name = NAME


def nurse(server: int, warmed: Sequence[tuple[str, str]]) -> None:
    """Be the process from which kernels are forked, until the server ends.

    Parameters
    ----------
    server : int
        Number of the open socket on which the server asks for kernels.
    warmed : sequence of tuple
        Module and name of each panel that is shown once, while nobody asks for a kernel; a module alone is imported.
    """
    kernels: set[int] = set()

    def bury(*_: object) -> None:
        kernels.difference_update([pid for pid in kernels if os.waitpid(pid, os.WNOHANG)[0]])

    signal.signal(signal.SIGCHLD, bury)
    os.environ.setdefault("PYDEVD_DISABLE_FILE_VALIDATION", "1")  # else the debugger warns on the terminal
    for module in FIRST_IMPORTED:
        import_module(module)
    cold = list(warmed)
    asked = Connection(server)
    with suppress(EOFError, OSError):
        while True:
            if cold and not asked.poll():
                _show(*cold.pop(0))
                continue
            arguments, env, cwd = json.loads(asked.recv_bytes())
            gc.freeze()  # what is there now no kernel looks through for garbage, which would copy all of it for each
            pid = os.fork()
            if not pid:
                signal.signal(signal.SIGCHLD, signal.SIG_DFL)
                asked.close()
                _run(arguments, env, cwd)
            kernels.add(pid)
            asked.send_bytes(str(pid).encode())


def _show(module: str, name: str) -> None:
    """Import a module and show its panel once, to nobody; one that fails is told where it is opened."""
    from ipywidgets import Widget

    with suppress(Exception):
        made = import_module(module)
        if name:
            getattr(made, name)()
    Widget.close_all()
    gc.collect()


def _run(arguments: list[str], env: dict[str, str], cwd: str | None) -> None:
    """Be a kernel, in the child, and end with its parent."""
    import ipywidgets
    from ipykernel.kernelapp import IPKernelApp

    os.setsid()
    os.environ.clear()
    os.environ.update(env)
    if cwd is not None:
        os.chdir(cwd)
    # Imported before there was a kernel, the widgets have not told it how a page asks for all of them at once.
    ipywidgets.register_comm_target()
    try:
        threading.Thread(target=_end_with, args=(os.getppid(),), daemon=True).start()
        # A parent number of 1 is one that ipykernel does not watch, and without one it tells how to end it by hand.
        IPKernelApp.launch_instance(arguments, parent_handle=1)
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(0)


def _end_with(parent: int) -> None:
    """End when the process that forked this one has ended, which ends with the server, however that did."""
    while os.getppid() == parent:
        time.sleep(LOOK_S)
    os._exit(1)
