"""The verb itself: what it prints, what it refuses, and that it lets go."""

from __future__ import annotations

import http.client
import os
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time

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


def test_idle_and_half_connections_lock_nobody_out():
    port = free_port()
    process = served("--port", str(port))
    held = []
    try:
        assert status(port, "/join") == 200
        for number in range(260):
            idle = socket.create_connection(("127.0.0.1", port), timeout=10)
            if number % 2:
                idle.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n")
            held.append(idle)
        assert {status(port, "/join") for _ in range(5)} == {200}
    finally:
        for idle in held:
            idle.close()
        process.terminate()
        process.communicate(timeout=10)


def test_a_form_that_breaks_off_leaves_no_traceback_in_the_log():
    port = free_port()
    process = served("--port", str(port))
    try:
        assert status(port, "/join") == 200
        head = f"POST /join HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"
        kind = "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 1000\r\n\r\ncode="
        for _ in range(5):
            with socket.create_connection(("127.0.0.1", port), timeout=10) as broken:
                broken.sendall(f"{head}{kind}".encode())
        assert status(port, "/join") == 200
    finally:
        process.terminate()
        _, err = process.communicate(timeout=10)
    assert "Traceback" not in err


def test_with_a_certificate_the_connection_is_encrypted(tmp_path):
    if shutil.which("openssl") is None:
        pytest.skip("no openssl here to make a certificate with")
    certificate, key = tmp_path / "certificate.pem", tmp_path / "key.pem"
    made = [
        "openssl",
        "req",
        "-x509",
        "-newkey",
        "rsa:2048",
        "-nodes",
        "-days",
        "2",
        "-subj",
        "/CN=localhost",
    ]
    subprocess.run([*made, "-keyout", str(key), "-out", str(certificate)], check=True, capture_output=True)
    port = free_port()
    process = served("--port", str(port), "--certificate", str(certificate), "--key", str(key))
    try:
        assert process.stdout.readline().strip() == f"Open https://127.0.0.1:{port}/"
        trusted = ssl.create_default_context(cafile=str(certificate))
        trusted.check_hostname = False
        for _ in range(100):
            try:
                connection = http.client.HTTPSConnection("127.0.0.1", port, timeout=10, context=trusted)
                connection.request("GET", "/join")
                break
            except ConnectionRefusedError:
                time.sleep(0.1)
        assert connection.getresponse().status == 200
        connection.close()
    finally:
        process.terminate()
        process.communicate(timeout=10)


def test_a_certificate_that_cannot_be_used_is_told_with_its_mend(tmp_path):
    wrong = tmp_path / "wrong.pem"
    wrong.write_text("no certificate")
    for words in (["--certificate", str(tmp_path / "no.pem")], ["--certificate", str(wrong)], ["--key", "k"]):
        done = run("page", "--port", str(free_port()), *words)
        assert done.returncode == 1
        assert "error:" in done.stderr
        assert "Traceback" not in done.stderr


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
