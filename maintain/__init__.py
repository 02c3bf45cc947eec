"""Maintenance and spares for clubs that fight radio-controlled model warships."""

__version__ = "0.1.0"
