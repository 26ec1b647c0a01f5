"""Plan what becomes of a garden's harvest."""

__version__ = "0.1.0"
