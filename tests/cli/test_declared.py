"""What a command says of its parameters is read off its function."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from tallstack.cli.declared import argument, option, parameters

FILE = argument(metavar="FILE", help="A file.")
JSON = option("--json", help="As JSON.")


def some(file: Path, as_json: bool = False) -> None:
    """Do nothing; `within` is no parameter."""
    within = file
    del within


some.__annotations__ = {"file": Annotated[Path, FILE], "as_json": Annotated[bool, JSON], "return": None}


def test_parameters_stand_in_the_functions_order_and_those_without_a_default_are_required() -> None:
    assert [*parameters(some)] == [("file", Path, FILE, True), ("as_json", bool, JSON, False)]


def test_what_is_said_of_a_parameter_is_kept_for_typer() -> None:
    assert FILE.is_argument
    assert FILE.more == {"metavar": "FILE"}
    assert JSON.param_decls == ("--json",)
    assert not JSON.is_argument
