"""Kernels that start at once: each is forked from a process that has imported already what a page needs.

To import it takes longer than all the rest of opening a page. The server calls :func:`warm_up` when it starts. Where
the system cannot fork, Jupyter starts its kernels as it always does.
"""

import multiprocessing
import os
import signal
import subprocess
import threading
from typing import Any, cast

from jupyter_client.connect import KernelConnectionInfo
from jupyter_client.provisioning.factory import KernelProvisionerFactory
from jupyter_client.provisioning.local_provisioner import LocalProvisioner

NAME = "edgestore-warm"
"""The entry point by which Jupyter finds the provisioner."""

CAN_FORK = "forkserver" in multiprocessing.get_all_start_methods()
LAUNCHER = ["-m", "ipykernel_launcher"]
IMPORTED = [
    "ipykernel.kernelapp",
    "edgestore.panels.proposal",
    "edgestore.training.exercises.class_page",
    "edgestore.training.fitting.page",
    "edgestore.training.lessons.page",
]
"""What the process imports from which kernels are forked; the proposal and the lessons bring all panels."""


def warm_up() -> None:
    """Start the process from which kernels are forked, which ends with this one, and have Jupyter fork them from it."""
    if CAN_FORK:
        from multiprocessing.forkserver import ensure_running  # which Windows has not

        multiprocessing.get_context("forkserver").set_forkserver_preload(IMPORTED)
        ensure_running()
        KernelProvisionerFactory.instance().default_provisioner_name = NAME


class ForkedKernel:
    """A forked kernel as Jupyter knows a process: by ``poll``, ``wait`` and ``send_signal``, its output inherited."""

    stdin = stdout = stderr = None

    def __init__(self, arguments: list[str], env: dict[str, str], cwd: str | None) -> None:
        # Plain texts: for Voila's own names the child would import Voila.
        env = {str.__str__(name): str.__str__(value) for name, value in env.items()}
        context: Any = multiprocessing.get_context("forkserver")
        self._process = context.Process(target=_run, args=(arguments, env, cwd), daemon=True)
        self._process.start()
        self.pid: int = self._process.pid

    def poll(self) -> int | None:
        """Give the exit code, or None while the kernel runs."""
        return None if self._process.is_alive() else int(self._process.exitcode or 0)

    def wait(self, timeout: float | None = None) -> int:
        """Wait for the end of the kernel and give its exit code."""
        self._process.join(timeout)
        if self._process.is_alive():
            raise subprocess.TimeoutExpired("kernel", timeout or 0)
        return int(self._process.exitcode or 0)

    def send_signal(self, signum: int) -> None:
        """Send a signal to the kernel, if it runs."""
        if self._process.is_alive():
            os.kill(self.pid, signum)

    def terminate(self) -> None:
        """Ask the kernel to end."""
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        """End the kernel."""
        self.send_signal(signal.SIGKILL)


class WarmProvisioner(LocalProvisioner):
    """Starts a Python kernel as a fork, and any other as Jupyter does."""

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> KernelConnectionInfo:
        """Start a kernel by the command that would start it as a program."""
        if cmd[1:3] != LAUNCHER:
            return await super().launch_kernel(cmd, **kwargs)
        kernel = ForkedKernel(cmd[3:], kwargs["env"], kwargs.get("cwd"))
        self.process, self.pid = cast(Any, kernel), kernel.pid
        return self.connection_info


def _run(arguments: list[str], env: dict[str, str], cwd: str | None) -> None:
    """Be a kernel, in the child."""
    from ipykernel.kernelapp import IPKernelApp

    os.setsid()  # Ctrl-C in the terminal is for the server, which ends its kernels itself
    os.environ.clear()
    os.environ.update(env)
    if cwd is not None:
        os.chdir(cwd)
    threading.Thread(target=_end_with_the_server, daemon=True).start()
    IPKernelApp.launch_instance(arguments, parent_handle=os.getppid())


def _end_with_the_server() -> None:
    """End when the server has ended, however it did: the process that forked this one lives as long as this one."""
    server = multiprocessing.parent_process()
    assert server is not None
    server.join()
    os._exit(1)
