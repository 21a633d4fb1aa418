"""Mutants of the core, and the tests that must kill them: `python -m tests.mutation`; see README.md here."""
