"""Differences from other programs that stay, each with its reason.

KiCad's command-line netlister cuts a wire or bus at a junction or bus entry in
its middle and then loses the far piece (its editor does not); we join what the
drawing joins.  No file of the corpus shows it in its nets: files that KiCad
saved are cut there already.
"""

__all__ = ["SCHEMATIC_DIFFERENCES"]

#: Lines as the comparison prints them, by design.
SCHEMATIC_DIFFERENCES: dict[str, frozenset[str]] = {}
