"""Plan rounds of caesarean birth team simulation: who trains, who stays as cover, which crew goes where."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from roundplan.workflow import audit_plan, make_plan, read_round, write_handouts

__version__ = "0.1.0"

__all__ = ["audit_plan", "make_plan", "read_round", "write_handouts"]


def __getattr__(name: str) -> Any:
    """Load a use case when it is first named, so that importing the package stays light."""
    if name in __all__:
        from roundplan import workflow

        return getattr(workflow, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    """Return the names that the package offers."""
    return sorted([*globals(), *__all__])
