"""The language of the terminal: `--language` anywhere on the line, else what the system asks for; help is told in it too."""

from __future__ import annotations

import inspect
from collections.abc import Mapping, Sequence
from typing import Any

from tracer.wording.language import LANGUAGES, of_environment, tell

OPTION = "--language"
OWN = ("letter", "draft")
"""Commands whose `--language` is that of a letter or of a message; the screen's stands before them."""


def language_of(arguments: Sequence[str], environment: Mapping[str, str]) -> tuple[str, list[str]]:
    """The language of the screens, and the arguments without it.

    Raises ValueError where no language stands behind the option, or one there are no screens in.

    >>> language_of(["trace", "lot.yaml", "--language", "es"], {})
    ('es', ['trace', 'lot.yaml'])
    >>> language_of(["--language=pt", "letter", "lot.yaml", "--language", "fr"], {})
    ('pt', ['letter', 'lot.yaml', '--language', 'fr'])
    """
    left = list(arguments)
    until = next((place for place, one in enumerate(left) if one in OWN or one == "--"), len(left))
    for place, one in enumerate(left[:until]):
        name, given, value = one.partition("=")
        if name != OPTION:
            continue
        size = 1 if given else 2
        value = value if given else next(iter(left[place + 1 : place + 2]), "")
        if value not in LANGUAGES:
            raise ValueError(value)
        return value, left[:place] + left[place + size :]
    return of_environment(environment), left


def translate(command: Any) -> None:
    """Tell the help of a command, of its options, and of the commands below it in the language of the screens."""
    command.help = tell(inspect.cleandoc(command.help or "").replace("\n", " "))
    own = command.get_help_option(command.context_class(command))  # kept by the command, which shows it last
    for parameter in (*command.params, own):
        if getattr(parameter, "help", None):
            parameter.help = tell(parameter.help)
    for below in getattr(command, "commands", {}).values():
        translate(below)
