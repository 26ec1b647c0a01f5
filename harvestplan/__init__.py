"""Plan a season of putting by what a garden gives."""

__version__ = "0.1.0"
