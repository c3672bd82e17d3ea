"""Throughwall: reasoning about the flues of room-sealed gas appliances that leave through an outside wall."""

__version__ = "0.1.0"
__all__ = ["__version__"]
