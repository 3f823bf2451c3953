"""The typed table: ref, pin, net."""
