"""Which side of the board a layer name means."""

from ohmtrail.importers._sexpr import Node

__all__ = ["Sides"]


class Sides:
    """The outer copper layers of a board, by every name its file may use.

    Up to version 5 people could rename copper layers, and the new name then
    stands everywhere in the file ("Top"); only the number of the layer tells.

    Parameters
    ----------
    table : Node
        The ``(layers (0 F.Cu signal) ...)`` list of the board, empty if absent.
    version : int
        Version of the file: before 4 the front had the number 15 and the back 0.

    Examples
    --------
    >>> sides = Sides(["layers", ["0", "Top", "signal"], ["31", "Bottom"]], 4)
    >>> sides.of_layer("Bottom"), sides.of_pad(["Top", "F.Mask"])
    ('bottom', 'top')
    >>> sides.of_pad(["*.Cu"]), sides.of_pad(["F.Paste"])
    ('both', '')
    """

    def __init__(self, table: Node, version: int) -> None:
        self._of: dict[str, str] = {
            "F.Cu": "top",
            "B.Cu": "bottom",
            "*.Cu": "both",
            "F&B.Cu": "both",
        }
        numbers = {"15": "top", "0": "bottom"} if version < 4 else {"0": "top"}
        if version >= 4 and version < 20241228:
            numbers["31"] = "bottom"
        for row in table[1:]:
            if not isinstance(row, list) or len(row) < 2:
                continue
            number, name = row[:2]
            if isinstance(number, str) and isinstance(name, str) and number in numbers:
                self._of.setdefault(name, numbers[number])

    def of_layer(self, name: str) -> str:
        """Return "top", "bottom", "both" or "" for a layer or a set of layers."""
        return self._of.get(name, "")

    def of_pad(self, layers: list[str]) -> str:
        """Return the side from which a pad on these layers can be touched."""
        found = {side for side in map(self.of_layer, layers) if side}
        if len(found) > 1:
            return "both"
        return found.pop() if found else ""
