"""KiCad schematics, version 6 to 10."""
