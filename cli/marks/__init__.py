"""Marks in the technician's own schematic and layout files.

Originals are never touched: a copy of the project gets insertions, and `unmark`
takes them out again.
"""
