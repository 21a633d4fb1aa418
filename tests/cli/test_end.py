"""A command ends its process at once; nothing that it said is lost by that, and its exit code stands."""

import subprocess
import sys

import pytest

from tests.command import run


def test_all_that_was_printed_arrives_through_a_pipe():
    whole = run("trace", "--example", "container_damp", "--json")
    fresh = run("trace", "--example", "container_damp", "--json", fresh=True)
    assert (fresh.returncode, fresh.stdout, fresh.stderr) == (0, whole.stdout, whole.stderr)


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("trace", "no_such_sheet.yaml"), 1, "no_such_sheet.yaml:1:1: error:"),
        (("trace", "--no-such-option"), 2, "--no-such-option"),
        (("--version",), 0, ""),
    ],
)
def test_the_exit_code_and_the_errors_are_those_of_the_command(words, code, told):
    ended = run(*words, fresh=True)
    assert ended.returncode == code
    assert told in ended.stderr


def test_what_is_to_be_done_at_the_end_is_done():
    program = "import atexit, sys; sys.argv = ['tracer', '--version']; atexit.register(print, 'done')\nfrom tracer.cli.main import process\nprocess()"
    ended = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert ended.stdout.splitlines()[-1] == "done"
