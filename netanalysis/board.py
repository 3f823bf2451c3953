"""What a design file says: parts, pins and nets, with no opinion about them.

Everything here is frozen and keeps the order of the file.  An importer builds
a `Board` through `make_board`, which checks that nothing is lost: each pin is
in at most one net, each net lists existing pins, each ref occurs once.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from ohmtrail.netanalysis._frozen import quickly_made

__all__ = [
    "Board",
    "BoardError",
    "Net",
    "Outline",
    "Part",
    "Pin",
    "Unused",
    "make_board",
]

#: Lines from point to point, each (x, y) in millimetres.
Outline = tuple[tuple[tuple[float, float], ...], ...]


class BoardError(ValueError):
    """The pieces given to `make_board` contradict one another.

    Attributes
    ----------
    ref, pin : str
        Where the contradiction sits; ``pin`` is empty if it is about a part.
    """

    def __init__(self, message: str, ref: str = "", pin: str = "") -> None:
        super().__init__(message)
        self.ref = ref
        self.pin = pin


@quickly_made
@dataclass(frozen=True, slots=True)
class Pin:
    """One pin of one part on the board."""

    #: Reference designator of the part, as in the file.
    ref: str
    #: Pin or pad number ("1", "A7"); several pads of one number are one pin.
    number: str
    #: Name of the net, or None where the file leaves the pin out of every net.
    net: str | None
    #: Pin name ("VIN", "G"); empty where the file gives none.
    name: str = ""
    #: Electrical type in KiCad's words ("power_in", "passive", "output",
    #: "power_out", "bidirectional", "no_connect" ...); empty where unknown.
    electrical: str = ""
    #: Position of the (first) pad in millimetres, y down, None where unknown.
    x_mm: float | None = None
    y_mm: float | None = None
    #: "top", "bottom", "both" (through-hole) or empty where unknown.
    side: str = ""
    #: Extent of that pad along x and y, None where unknown.
    land_mm: tuple[float, float] | None = None

    @property
    def key(self) -> str:
        """The probe point, ``REF.PIN``."""
        return f"{self.ref}.{self.number}"


@quickly_made
@dataclass(frozen=True, slots=True)
class Part:
    """One part of the board, fitted or not."""

    ref: str
    value: str
    pins: tuple[Pin, ...]
    #: Library identifier or device name ("Device:Q_NMOS_GDS"), else empty.
    library: str = ""
    footprint: str = ""
    description: str = ""
    keywords: str = ""
    #: Sheet path in words ("/Core/Phase A/"), "/" for the root or unknown.
    sheet: str = "/"
    #: False for parts marked "do not populate".
    fitted: bool = True
    #: Other fields of the file, in its order (manufacturer part number, ...).
    fields: tuple[tuple[str, str], ...] = ()
    #: A kind that the file states outright (only the typed table does), else "".
    stated_kind: str = ""
    x_mm: float | None = None
    y_mm: float | None = None
    #: "top", "bottom" or empty where unknown.
    side: str = ""

    def pin(self, number: str) -> Pin | None:
        """Return the pin with this number, or None."""
        for pin in self.pins:
            if pin.number == number:
                return pin
        return None

    def field(self, name: str) -> str:
        """Return a field's text, whatever the case of its name; "" if absent."""
        wanted = name.casefold()
        for key, text in self.fields:
            if key.casefold() == wanted:
                return text
        return ""


@dataclass(frozen=True, slots=True)
class Net:
    """One net: its name in the file and its pins in the file's order."""

    name: str
    pins: tuple[Pin, ...]
    #: Further names that the file gives the same net (labels that lost).
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Unused:
    """Something that an importer met and did not use."""

    #: What it is, in words ("bus entry that touches no bus").
    what: str
    #: Where: file and line, sheet or ref.
    where: str = ""
    count: int = 1


@dataclass(frozen=True, slots=True)
class Board:
    """A whole design as its file says.

    Use `make_board` to build one.  ``part_by_ref`` and ``net_by_name`` are
    look-ups (read only) that hold the same objects as ``parts`` and ``nets``.
    """

    #: Name of the design (file stem or title).
    name: str
    #: Importer's name ("kicad_schematic") and the file's own version.
    format: str
    version: str
    parts: tuple[Part, ...]
    nets: tuple[Net, ...]
    #: Sheet paths, root first; empty for formats without sheets.
    sheets: tuple[str, ...] = ()
    unused: tuple[Unused, ...] = ()
    #: Edges of the board as lines from point to point, y down; empty where unknown.
    outline_mm: Outline = ()
    #: Nominal volts that the file states outright (only a shared case does), by net.
    stated_volts: tuple[tuple[str, float], ...] = ()
    part_by_ref: Mapping[str, Part] = field(
        default_factory=dict, repr=False, compare=False
    )
    net_by_name: Mapping[str, Net] = field(
        default_factory=dict, repr=False, compare=False
    )

    @property
    def pin_count(self) -> int:
        """Number of pins, connected or not."""
        return sum(len(part.pins) for part in self.parts)


def make_board(
    *,
    name: str,
    format: str,
    version: str,
    parts: Iterable[Part],
    net_order: Iterable[str] = (),
    aliases: Mapping[str, tuple[str, ...]] | None = None,
    sheets: Iterable[str] = (),
    unused: Iterable[Unused] = (),
    outline_mm: Iterable[tuple[tuple[float, float], ...]] = (),
    stated_volts: Iterable[tuple[str, float]] = (),
) -> Board:
    """Build a checked `Board` from parts whose pins carry their net's name.

    Parameters
    ----------
    name, format, version : str
        See `Board`.
    parts : iterable of Part
        In the file's order.
    net_order : iterable of str
        Net names in the file's order.  Nets found on pins and missing here
        follow in the order of first use; a name here that no pin uses becomes
        a net without pins.
    aliases : mapping
        Further names of a net, by its name.
    sheets, unused, outline_mm, stated_volts
        See `Board`.

    Raises
    ------
    BoardError
        If a ref occurs twice, or a part has one pin number twice.

    Notes
    -----
    O(parts + pins).
    """
    parts = tuple(parts)
    part_by_ref: dict[str, Part] = {}
    members: dict[str, list[Pin]] = {net: [] for net in net_order}
    for part in parts:
        if part.ref in part_by_ref:
            raise BoardError(f"part {part.ref} occurs twice", part.ref)
        part_by_ref[part.ref] = part
        seen: set[str] = set()
        for pin in part.pins:
            if pin.number in seen:
                raise BoardError(f"pin {pin.key} occurs twice", part.ref, pin.number)
            seen.add(pin.number)
            if pin.net is not None:
                members.setdefault(pin.net, []).append(pin)
    nets = tuple(
        Net(net, tuple(pins), (aliases or {}).get(net, ()))
        for net, pins in members.items()
    )
    return Board(
        name=name,
        format=format,
        version=version,
        parts=parts,
        nets=nets,
        sheets=tuple(sheets),
        unused=tuple(unused),
        outline_mm=tuple(outline_mm),
        stated_volts=tuple(stated_volts),
        part_by_ref=part_by_ref,
        net_by_name={net.name: net for net in nets},
    )
