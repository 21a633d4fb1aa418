"""`python -m tracer` is the same as `tracer`."""

from tracer.cli.main import process

process()
