"""Pieces that every stage drawing is made of."""

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ohmtrail.cli.render.drawing import Circle, Item, Line, Rect, Text
from ohmtrail.cli.render.stage_readings import READING_MM, Readings
from ohmtrail.cli.render.text_width import cut, wrapped
from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.circuit import Circuit, Stage

__all__ = ["Sheet", "last"]

_REF, _VALUE, _PIN = 3.0, 2.2, 2.2
_POWER = ("drain", "source", "collector", "emitter", "anode", "cathode")
_PINS_MAX = 4


def last(net: str | None) -> str:
    """Return the last part of a net's name; "?" where there is none."""
    if not net:
        return "?"
    return net.rstrip("/").rpartition("/")[2] or net


@dataclass(slots=True)
class Sheet:
    """A stage with its readings, and the items drawn so far."""

    circuit: Circuit
    stage: Stage
    readings: Readings
    items: list[Item] = field(default_factory=list)
    #: Parts of gate chains, and capacitors, that are drawn already.
    drawn: set[str] = field(default_factory=set)

    def kind(self, ref: str) -> str:
        """Return the kind of a part."""
        kind = self.circuit.kinds.get(ref)
        return kind.kind if kind is not None else "other"

    def pins(self, ref: str) -> tuple[Pin, ...]:
        """Return the pins of a part; none where the board lacks it."""
        part = self.circuit.board.part_by_ref.get(ref)
        return part.pins if part is not None else ()

    def role(self, pin: Pin) -> str:
        """Return what a pin does, "" if unknown."""
        role = self.circuit.roles.get((pin.ref, pin.number))
        return role.role if role is not None else ""

    def value(self, ref: str) -> str:
        """Return the value text of a part."""
        part = self.circuit.board.part_by_ref.get(ref)
        return part.value if part is not None else ""

    def numbers(self, ref: str, net: str | None) -> str:
        """Return the pins of a part on a net: "1,2,3"."""
        found = [pin.number for pin in self.pins(ref) if pin.net == net]
        more = f"+{len(found) - _PINS_MAX}" if len(found) > _PINS_MAX else ""
        return ",".join(found[:_PINS_MAX]) + more

    def cathode_on(self, ref: str, net: str | None) -> bool:
        """Whether the cathode of a diode is on a net."""
        pins = self.pins(ref)
        return any(self.role(pin) == "cathode" and pin.net == net for pin in pins)

    def other_end(self, ref: str, net: str | None) -> str | None:
        """Return the net at the other power pin of a two-ended part."""
        pins = [pin for pin in self.pins(ref) if pin.net and pin.net != net]
        power = [pin for pin in pins if self.role(pin) in _POWER]
        found = power or pins
        ends = {self.stage.input, self.stage.output, self.stage.input_rail}
        for pin in found:
            if pin.net in ends or pin.net in self.circuit.ground:
                return pin.net
        return found[0].net if found else None

    def node(self, x: float, y: float) -> None:
        """Draw a junction of wires."""
        self.items.append(Circle(x, y, 0.6, stroke_mm=0, fill="black"))

    def wire(self, *points: tuple[float, float], stroke: float = 0.3) -> None:
        """Draw a wire from point to point."""
        for a, b in itertools.pairwise(points):
            self.items.append(Line(*a, *b, stroke))

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = _PIN,
        anchor: str = "start",
        *,
        bold: bool = False,
        width: float | None = None,
    ) -> None:
        """Write a line, cut off at a width if one is given."""
        if width is not None:
            text = cut(text, size, width, bold=bold)
        self.items.append(Text(x, y, text, size, anchor, bold=bold))

    def name(self, ref: str, x: float, y: float, width: float) -> None:
        """Write a part's ref and under it its value."""
        self.text(x, y, ref, _REF, bold=True, width=width)
        self.text(x, y + 2.9, self.value(ref), _VALUE, width=width)

    def block_height(self, refs: Sequence[str], steps: Sequence[object]) -> float:
        """Return how high `block` becomes."""
        return 5.5 + 3.0 * len(refs) + READING_MM * len(steps) + 1.0

    def block(
        self,
        title: str,
        refs: Sequence[str],
        x: float,
        y: float,
        width: float,
        *,
        home: str = "",
    ) -> float:
        """Draw a box with parts and their readings; return its lower edge."""
        steps = self.readings.of(refs)
        height = self.block_height(refs, steps)
        self.items.append(Rect(x, y, width, height, 0.25, fill="white"))
        self.text(x + 1.5, y + 3.6, title, 2.4, width=width - 3)
        base = y + 6.8
        for ref in refs:
            words = f"{ref} {self.value(ref)}"
            self.text(x + 1.5, base, words, 2.4, bold=True, width=width - 3)
            base += 3.0
        self.items += self.readings.lines(
            steps, home or (refs[0] if len(refs) == 1 else ""), x + 1.5,
            base - 2.2, width - 3
        )  # fmt: skip
        return y + height

    def paragraph(
        self, words: Iterable[str], x: float, y: float, width: float
    ) -> float:
        """Write lines of text; return the next free height."""
        for text in words:
            for line in wrapped(text, 2.4, width):
                self.text(x, y, line, 2.4)
                y += 3.3
        return y
