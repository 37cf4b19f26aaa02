"""Parts-and-consumables kits for strip-and-refit work on cars."""

from importlib.metadata import version

__version__ = version("kitting")
