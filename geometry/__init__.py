"""The geometry of a pushrod engine's valve gear: computes, and reads or prints nothing."""

from .core.arithmetic import check
from .core.errors import DisagreementError, GeometryError, MissingEntryError, UnreachableError
from .engine.engine import Engine, Train, build
from .pushrod.pushrods import Fit, Required, fit, required

check()

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
