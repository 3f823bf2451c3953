"""Readers of open schematic and netlist formats: one folder a format."""
