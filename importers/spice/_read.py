"""A board from a SPICE deck."""

from pathlib import Path

from ohmtrail.importers._pause import no_collection
from ohmtrail.importers.spice._deck import read_deck
from ohmtrail.importers.spice._flatten import Flattener
from ohmtrail.netanalysis.board import Board, Unused, make_board

__all__ = ["read"]


def read(path: Path) -> Board:
    """Read a SPICE deck and the files beside it that it includes.

    Parameters
    ----------
    path : Path
        The deck.

    Raises
    ------
    ImporterError
        If it cannot be read or is no deck.

    Notes
    -----
    Node 0 (and ``gnd``) is the net GND.  Flattened names are ngspice's, in the
    file's spelling: ``Xph.M1``, ``Xph.gl1``.  ``m=2`` gives two parts, M1 and M1#2.
    Values become the board's: ``1M`` (a milliohm) is "1m", ``1MEG`` is "1M".  A
    subcircuit without a definition is kept as a part and counted in ``unused``.
    O(size of the files and of the flattened circuit).
    """
    with no_collection():
        deck = read_deck(path)
        flattener = Flattener(deck)
        flattener.run()
        deck.unused.update(flattener.unused_definitions())
        parts = list(flattener.parts.values())
        flattener.parts.clear()
        return make_board(
            name=path.name.split(".", 1)[0],
            format="spice",
            version="",
            parts=parts,
            net_order=flattener.names.values(),
            sheets=flattener.sheets,
            unused=[
                Unused(what, deck.where.get(what, str(path)), count)
                for what, count in deck.unused.items()
            ],
        )
