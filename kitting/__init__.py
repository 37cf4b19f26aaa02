"""Parts-and-consumables kits for strip-and-refit work on cars."""

from __future__ import annotations


def __getattr__(name: str) -> str:
    """`__version__`, looked up only when asked for: it costs a tenth of a start-up."""
    if name == "__version__":
        from importlib.metadata import version

        return version("kitting")
    raise AttributeError(name)
