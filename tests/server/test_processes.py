"""A server of several processes answers as promptly as one of one, and says what keeps it from starting."""

import signal
import socket
import subprocess
import sys

import httpx

from tests.server.conftest import Nursery
from tests.server.running import free_port
from tests.server.test_workers import wait_for

SEVERAL = """
import sys
from server.cli.processes import serve_in_processes
serve_in_processes(sys.argv[1], "127.0.0.1", int(sys.argv[2]), 2, 2)
"""
SERVE = "from server.cli import app; app()"


def test_small_answers_of_several_processes_are_not_held_back() -> None:
    """On every connection the system is told to send at once: else the last part of each answer comes 40 ms late."""
    port = free_port()
    command = [sys.executable, "-c", SEVERAL, "tests.server.prompt_app:make_app", str(port)]
    with subprocess.Popen(command) as process:
        wait_for(f"http://127.0.0.1:{port}")
        told = [httpx.get(f"http://127.0.0.1:{port}/").json() for _ in range(20)]
        process.send_signal(signal.SIGINT)
        assert process.wait(60) == 0
    assert all(one["at_once"] for one in told)
    assert process.pid not in {one["process"] for one in told}


def test_a_taken_port_is_named_by_whatever_number_of_processes(lite: Nursery) -> None:
    """And what to do about it; nothing is left running."""
    settings, _ = lite
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        command = [sys.executable, "-c", SERVE, "serve", "--data", str(settings.data), "--port", port, "--workers", "2"]
        ended = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    assert ended.returncode == 1
    assert f"port {port} of 127.0.0.1 cannot be used: Address already in use: choose another" in ended.stderr


def test_several_processes_serve_the_record(lite: Nursery) -> None:
    """`crosstree serve --workers 2` answers, and ends at Ctrl-C."""
    settings, _ = lite
    port = free_port()
    command = [sys.executable, "-c", SERVE, "serve", "--data", str(settings.data), "--port", str(port), "--workers", "2"]
    with subprocess.Popen(command) as process:
        wait_for(f"http://127.0.0.1:{port}")
        assert httpx.get(f"http://127.0.0.1:{port}/door").status_code == 200
        process.send_signal(signal.SIGINT)
        assert process.wait(60) == 0
