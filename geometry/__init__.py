"""The geometry of a pushrod engine's valve gear: computes, and reads or prints nothing."""

from tallstack.geometry.engine import Engine, Train, build
from tallstack.geometry.errors import (
    DisagreementError,
    GeometryError,
    MissingEntryError,
    UnreachableError,
)
from tallstack.geometry.pushrods import Fit, Required, fit, required

__all__ = [
    "DisagreementError",
    "Engine",
    "Fit",
    "GeometryError",
    "MissingEntryError",
    "Required",
    "Train",
    "UnreachableError",
    "build",
    "fit",
    "required",
]
