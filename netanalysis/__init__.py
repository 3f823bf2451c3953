"""The board model and circuit reasoning: knows no file format, prints nothing."""
