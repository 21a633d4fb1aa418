"""`python -m tests.cases` prints the score on the published cases, with and without the history."""

from tests.cases.score import main

main()
