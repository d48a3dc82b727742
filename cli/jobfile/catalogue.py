"""What may stand at each place of a job file: the model, asked by path."""

from __future__ import annotations

from typing import Any, get_args

from tallstack.cli.jobfile.faults import Loc
from tallstack.cli.jobfile.fields import Kind, Parts
from tallstack.cli.jobfile.model import Job


def entries_of(loc: Loc) -> tuple[str, ...]:
    """Return the names of the entries that may stand at a place of the document."""
    fields = getattr(table_at(loc), "model_fields", {})
    return tuple(field.alias or name for name, field in fields.items())


def table_at(loc: Loc) -> Any:
    """Return the model of the table at a place of the document, or None where no table can stand."""
    table: Any = Job
    by_name = False  # in a table whose keys the user chooses, such as [lobe.NAME]
    for part in loc:
        if isinstance(part, int):
            continue
        if by_name:
            by_name = False
            continue
        fields = {info.alias or name: info.annotation for name, info in table.model_fields.items()}
        annotation = fields.get(str(part))
        table = _table_in(annotation)
        if table is None:
            return None
        by_name = getattr(annotation, "__origin__", None) is dict
    return table


def _table_in(annotation: Any) -> Any:
    """Return the table model inside an annotation such as `list[Train]` or `Crank | None`."""
    if hasattr(annotation, "model_fields"):
        return annotation
    return next((found for one in get_args(annotation) if (found := _table_in(one)) is not None), None)


def kind_at(loc: Loc) -> Kind | None:
    """Return the meaning of the entry at a place of the document, or None where there is none."""
    last = str(loc[-1])
    table = table_at(loc[:-1])
    fields = {info.alias or name: info for name, info in getattr(table, "model_fields", {}).items()}
    naming = len(loc) == 3 and last in ("cylinder", "port", "like", "mirror", "name")
    if last in fields and not naming:
        own = [one for one in fields[last].metadata if isinstance(one, Kind)]
        try:
            return own[0] if own else kind_in(fields[last].annotation)
        except TypeError:
            return None
    if last in ("x", "y", "z"):
        kind = kind_at(loc[:-1])
        return kind if isinstance(kind, Parts) else None
    return None


def kind_in(annotation: Any) -> Kind:
    """Return the meaning inside an annotation such as `dict[str, Annotated[Row, Parts(…)]]`.

    Raises:
        TypeError: where there is none.
    """
    found = _kind_in(annotation)
    if found is None:
        message = f"no meaning in {annotation!r}"
        raise TypeError(message)
    return found


def _kind_in(annotation: Any) -> Kind | None:
    for one in getattr(annotation, "__metadata__", ()):
        if isinstance(one, Kind):
            return one
    inner = (_kind_in(one) for one in getattr(annotation, "__args__", ()))
    return next((one for one in inner if one is not None), None)
