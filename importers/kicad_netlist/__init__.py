"""KiCad netlists: the s-expression and the XML form."""
