"""Sheet paths in words, as far as a layout tells them."""

from collections.abc import Iterable

from ohmtrail.importers.kicad_layout._footprint import Footprint

__all__ = ["sheet_paths"]


def sheet_paths(footprints: Iterable[Footprint]) -> list[str]:
    """Return the sheet path of each footprint, "/" where it is unknown.

    From version 8 on the file has the path in words.  Versions 6 and 7 have the
    name of the last sheet, and identifiers of all of them: the names of those
    above come from footprints that sit there; one that holds none is left out.

    Parameters
    ----------
    footprints : iterable of Footprint
        In the file's order.
    """
    footprints = list(footprints)
    names: dict[str, str] = {}
    for one in footprints:
        if one.sheet and not one.sheet.startswith("/"):
            names.setdefault(one.path.rpartition("/")[0], one.sheet)
    paths = []
    for one in footprints:
        if one.sheet is not None and one.sheet.startswith("/"):
            paths.append(one.sheet if one.sheet.endswith("/") else one.sheet + "/")
            continue
        words, prefix = [], ""
        for identifier in one.path.split("/")[1:-1]:
            prefix += "/" + identifier
            if prefix in names:
                words.append(names[prefix])
        paths.append("/" + "".join(word + "/" for word in words))
    return paths
