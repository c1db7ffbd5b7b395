"""Leadline: an offline logbook for the time between dives."""

__version__ = "0.1.0"
