"""Strandkeeper keeps the record a technician would keep of one's own fibre links."""

__all__ = ["__version__"]

__version__ = "0.1"
