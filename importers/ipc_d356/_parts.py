"""From records to parts: refs and pins that the columns cut short kept apart."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from ohmtrail.netanalysis.board import Part, Pin

__all__ = ["Pad", "make_parts"]

_PIN_WIDTH = 4


@dataclass(frozen=True, slots=True)
class Pad:
    """One pad with its net's real name."""

    ref: str
    pin: str
    net: str | None
    x_mm: float
    y_mm: float
    side: str


@dataclass(slots=True)
class _Building:
    pads: dict[str, Pad] = field(default_factory=dict)

    def conflicts(self, pad: Pad) -> bool:
        """Whether a pad of this number is on another net."""
        known = self.pads.get(pad.pin)
        return (
            known is not None
            and known.net is not None
            and pad.net is not None
            and known.net != pad.net
        )

    def add(self, pad: Pad) -> None:
        known = self.pads.get(pad.pin)
        if known is None:
            self.pads[pad.pin] = pad
        elif known.net is None and pad.net is not None:
            self.pads[pad.pin] = Pad(
                known.ref, known.pin, pad.net, known.x_mm, known.y_mm, known.side
            )


def _runs(pads: Iterable[Pad]) -> list[list[Pad]]:
    """Cut the records into runs of one reference."""
    runs: list[list[Pad]] = []
    for pad in pads:
        if runs and runs[-1][-1].ref == pad.ref:
            runs[-1].append(pad)
        else:
            runs.append([pad])
    return runs


def _renumber(run: list[Pad], notes: Counter[tuple[str, str]]) -> list[Pad]:
    """Keep pins apart whose numbers fill their columns, so may have been cut."""
    nets: dict[str, dict[str, int]] = {}
    out = []
    for pad in run:
        if len(pad.pin) == _PIN_WIDTH and pad.net is not None:
            known = nets.setdefault(pad.pin, {})
            place = known.setdefault(pad.net, len(known))
            if place:
                name = f"{pad.pin}#{place + 1}"
                notes[f"pin on several nets, cut short, called {name} here",
                      f"{pad.ref}.{pad.pin}"] += 1  # fmt: skip
                pad = Pad(pad.ref, name, pad.net, pad.x_mm, pad.y_mm, pad.side)
        out.append(pad)
    return out


def _disagrees(run: list[Pad]) -> bool:
    """Whether a number occurs on two nets."""
    whole = _Building()
    for pad in run:
        if whole.conflicts(pad):
            return True
        whole.add(pad)
    return False


def _split(run: list[Pad]) -> list[list[Pad]]:
    """Cut a run where a second part of the same (cut) reference begins."""
    if not _disagrees(run):
        return [run]
    pieces: list[list[Pad]] = [[]]
    seen: set[str] = set()
    for pad in run:
        if pad.pin in seen:
            pieces.append([])
            seen = set()
        pieces[-1].append(pad)
        seen.add(pad.pin)
    return pieces


def make_parts(pads: Iterable[Pad], notes: Counter[tuple[str, str]]) -> list[Part]:
    """Return the parts, in the order of the file.

    Pads of one number are one pin.  Where two of them are on different nets,
    names must have been cut: the pin (if it fills its 4 columns) or the part gets
    ``#2`` behind its name, so that no connection is made that is not there.

    Parameters
    ----------
    pads : iterable of Pad
        In the file's order; positions in millimetres.
    notes : Counter
        Takes what is met and not used.

    Notes
    -----
    O(pads), times the number of parts that share one cut reference.
    """
    parts: dict[str, _Building] = {}
    last: Counter[str] = Counter()
    for run in _runs(pads):
        ref = run[0].ref
        for piece in _split(_renumber(run, notes)):
            name = ref if not last[ref] else f"{ref}#{last[ref] + 1}"
            building = parts.setdefault(name, _Building())
            if any(building.conflicts(pad) for pad in piece):
                while name in parts:
                    last[ref] += 1
                    name = f"{ref}#{last[ref] + 1}"
                what = f"part with pins on other nets, cut short, called {name} here"
                notes[what, ref] += 1
                building = parts[name] = _Building()
            for pad in piece:
                building.add(pad)
    return [_part(ref, building.pads.values()) for ref, building in parts.items()]


def _part(ref: str, pads: Iterable[Pad]) -> Part:
    pins = tuple(
        Pin(ref, p.pin, p.net, x_mm=p.x_mm, y_mm=p.y_mm, side=p.side) for p in pads
    )
    sides = {pin.side for pin in pins} - {"both"}
    return Part(ref, "", pins, side=sides.pop() if len(sides) == 1 else "")
