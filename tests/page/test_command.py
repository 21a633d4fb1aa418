"""The verb itself: what it prints, what it refuses, and that it lets go."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket
import subprocess
import sys

import pytest

from tests.command import run

pytest.importorskip("uvicorn")


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def served(*words):
    return subprocess.Popen(
        [sys.executable, "-m", "tracer", "page", *words],
        env=dict(os.environ),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def status(port, path, **headers):
    for _ in range(100):
        try:
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
            connection.request("GET", path, headers=headers)
            return connection.getresponse().status
        except ConnectionRefusedError:
            import time

            time.sleep(0.1)
    raise AssertionError("the page never answered")


def test_to_this_machine_alone_it_needs_no_key_and_ctrl_c_ends_it_quietly():
    port = free_port()
    process = served("--port", str(port))
    assert process.stdout.readline().strip() == f"Open http://127.0.0.1:{port}/"
    assert status(port, "/") == 200
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=10)
    assert "Traceback" not in out + err
    assert process.returncode in (0, 1, -2, 130)


def test_to_the_network_it_prints_a_key_and_opens_only_with_it():
    port = free_port()
    process = served("--host", "127.0.0.1", "--port", str(port))
    try:
        key = re.search(r"\?key=([\w-]{20,})", process.stdout.readline())[1]
        assert status(port, "/") == 403
        assert status(port, "/?key=wrong") == 403
        assert status(port, f"/?key={key}") == 303
        assert status(port, "/lots", Cookie=f"tracer_leader={key}") == 200
        assert status(port, "/join") == 200
    finally:
        process.terminate()
        process.communicate(timeout=10)


def test_where_all_addresses_are_listened_on_the_one_that_phones_reach_is_printed():
    port = free_port()
    process = served("--host", "0.0.0.0", "--port", str(port))
    try:
        told = process.stdout.readline()
        assert "0.0.0.0" not in told
        assert re.search(r"http://[\w.-]+:\d+/\?key=", told)
        assert status(port, "/") == 403
    finally:
        process.terminate()
        process.communicate(timeout=10)


def test_a_port_that_is_taken_is_told_without_a_traceback():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        done = run("page", "--port", str(taken.getsockname()[1]))
    assert done.returncode == 1
    assert "cannot be listened on" in done.stderr
    assert "--port" in done.stderr
    assert "Traceback" not in done.stderr


def test_without_its_extra_the_verb_says_what_to_install(tmp_path):
    (tmp_path / "uvicorn.py").write_text("raise ImportError('no', name='uvicorn')")
    done = run("page", PYTHONPATH=os.pathsep.join([str(tmp_path), os.getcwd()]))
    assert done.returncode == 1
    assert "coffee-tracer[page]" in done.stderr


def test_a_casebook_that_is_none_is_told_before_anything_is_served(tmp_path):
    wrong = tmp_path / "book.sqlite"
    wrong.write_text("this is no database, only text " * 40)
    done = run("page", "--port", str(free_port()), "--casebook", str(wrong))
    assert done.returncode == 1
    assert "damaged or no casebook" in done.stderr
