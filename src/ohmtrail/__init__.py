"""Probe checklists and shorted-net reasoning for board-level repair."""

__version__ = "0.1.0"
