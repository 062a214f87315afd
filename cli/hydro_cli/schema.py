"""`sumpwright schema`: the JSON Schema of a case file, for editors."""

from __future__ import annotations

import argparse

from .exits import FINE
from .options import TO, Commands, add_command
from .runner import Answer


def add(commands: Commands) -> None:
    """Add the command, which takes no case."""
    command = add_command(commands, "schema", schema, (TO,), "write the JSON Schema of case files, for editors",
                          "Write the JSON Schema by which an editor completes and checks case files.")
    command.set_defaults(cases=[""])


def schema(_: str, options: argparse.Namespace) -> Answer:
    """Return the schema as text."""
    import json

    from hydro.case.schema import case_schema

    return Answer(FINE, json.dumps(case_schema(), indent=1, ensure_ascii=False) + "\n")
