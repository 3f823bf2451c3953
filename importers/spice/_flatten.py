"""Flattening: subcircuits put into one another, ``m=`` into parallel parts."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from ohmtrail.importers._bounds import PARTS_MAX, PINS_MAX
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.spice._deck import Deck, Definition
from ohmtrail.importers.spice._devices import Device, read_device
from ohmtrail.importers.spice._lines import Line
from ohmtrail.importers.spice._numbers import board_value, plain_value
from ohmtrail.importers.spice._scope import Scope
from ohmtrail.netanalysis.board import Part, Pin

__all__ = ["Flattener"]

_DEPTH_MAX = 100
_INSTANCES_MAX = 100_000
_PARALLEL_MAX = 64
_LETTERS_MAX = 200_000_000
#: Names of the one node that every subcircuit shares (ngspice).
_GROUND = ("0", "gnd")


@dataclass(slots=True)
class _Frame:
    """A subcircuit that is being put in."""

    definition: Definition
    #: "" or the instances above, each with a dot after it.
    prefix: str
    #: Net by node.
    nets: dict[str, str]
    scope: Scope
    devices: Iterator[Device]


@dataclass(slots=True)
class Flattener:
    """Makes parts of a deck's devices.

    Parameters
    ----------
    deck : Deck
        With everything included.
    """

    deck: Deck
    parts: dict[str, Part] = field(default_factory=dict)
    #: Net names in the order of their first use, by name without case.
    names: dict[str, str] = field(default_factory=dict)
    sheets: list[str] = field(default_factory=list)
    _read: dict[int, list[Device]] = field(default_factory=dict)
    _used: set[int] = field(default_factory=set)
    _letters: int = 0
    _instances: int = 0
    _pins: int = 0
    _texts: dict[str, str] = field(default_factory=dict)

    def run(self) -> None:
        """Put every subcircuit in, in the order of the lines.

        Raises
        ------
        ParseError
            If a subcircuit contains itself, nesting is deeper than 100, a name
            occurs twice, or the whole is larger than any board.

        Notes
        -----
        O(flattened devices); no recursion.
        """
        top = self.deck.top
        scope = Scope(top.parameters)
        stack = [_Frame(top, "", {}, scope, self._stream(top))]
        self.sheets.append("/")
        while stack:
            frame = stack[-1]
            device = next(frame.devices, None)
            if device is None:
                stack.pop()
                continue
            copies = self._copies(device, frame)
            if device.subcircuit is None:
                for name in copies:
                    self._part(device, frame, name)
                continue
            inner = device.subcircuit
            if any(inner is above.definition for above in stack):
                raise self._error(
                    device.line, f"found subcircuit {inner.name} inside itself"
                )
            if len(stack) > _DEPTH_MAX:
                raise self._error(
                    device.line, f"found subcircuits deeper than {_DEPTH_MAX}"
                )
            for name in reversed(copies):
                stack.append(self._enter(device, inner, frame, name))

    @staticmethod
    def _error(line: Line, message: str) -> ParseError:
        return ParseError(message, line.path, line.number)

    def _stream(self, definition: Definition) -> Iterator[Device]:
        for line in definition.devices:
            device = read_device(line, definition)
            if device is None:
                self.deck.pass_over("coupling of coils (K)", line)
                continue
            if device.passed_over:
                self.deck.pass_over(device.passed_over, line)
            yield device

    def _devices(self, definition: Definition) -> Iterator[Device]:
        found = self._read.get(id(definition))
        if found is None:
            found = self._read[id(definition)] = list(self._stream(definition))
        return iter(found)

    def _copies(self, device: Device, frame: _Frame) -> list[str]:
        """Return names of the parallel devices for which a line stands.

        ``M1`` with ``m=3`` gives M1, M1#2 and M1#3.
        """
        name = frame.prefix + device.name
        if not device.multiply:
            return [name]
        number = frame.scope.number(device.multiply)
        if number is None or number != int(number) or not 1 <= number <= _PARALLEL_MAX:
            what = f"m={device.multiply[:20]}, kept as one part"
            self.deck.pass_over(what, device.line)
            return [name]
        return [name, *(f"{name}#{k}" for k in range(2, int(number) + 1))]

    def _net(self, node: str, frame: _Frame) -> str | None:
        if not node:
            return None
        folded = node.casefold()
        net = frame.nets.get(folded)
        if net is None:
            if folded in _GROUND:
                full, shown = "gnd", "GND"
            elif folded in self.deck.globals or not frame.prefix:
                full, shown = folded, node
            else:
                shown = frame.prefix + node
                full = shown.casefold()
                self._letters += len(full)
            net = frame.nets[folded] = self.names.setdefault(full, shown)
        return net

    def _enter(
        self, device: Device, inner: Definition, frame: _Frame, name: str
    ) -> _Frame:
        prefix = f"{name}."
        self._used.add(id(inner))
        self._instances += 1
        self._letters += len(prefix)
        if self._instances > _INSTANCES_MAX:
            raise self._error(
                device.line,
                f"found more than {_INSTANCES_MAX} uses of subcircuits, "
                "expected a board",
            )
        self._limits(device.line)
        sheet = "/" + prefix.replace(".", "/")
        self.sheets.append(sheet)
        nets: dict[str, str] = {}
        for port, (_, node) in zip(inner.ports, device.nodes, strict=True):
            net = self._net(node, frame)
            if net is not None and port not in _GROUND:
                nets[port] = net
        given = {key: frame.scope.number(text) for key, text in device.given.items()}
        scope = Scope(inner.parameters, given, frame.scope)
        return _Frame(inner, prefix, nets, scope, self._devices(inner))

    def _limits(self, line: Line) -> None:
        if (
            len(self.parts) > PARTS_MAX
            or self._pins > PINS_MAX
            or self._letters > _LETTERS_MAX
        ):
            raise self._error(
                line,
                f"found more than {PARTS_MAX} devices or {PINS_MAX} pins, "
                "expected a board",
            )

    def _part(self, device: Device, frame: _Frame, name: str) -> None:
        folded = name.casefold()
        if folded in self.parts:
            raise self._error(device.line, f"found device {name} again")
        if frame.prefix:
            self._letters += len(name)
        self._pins += len(device.nodes)
        self._limits(device.line)
        nets = frame.nets
        pins = []
        for pin, node in device.nodes:
            net = nets.get(node.casefold()) or self._net(node, frame)
            pins.append(Pin(name, pin, net, "" if pin.isdigit() else pin))
        self.parts[folded] = Part(
            name,
            self._value(device, frame),
            tuple(pins),
            "",
            "",
            device.description,
            "",
            self._sheet(frame.prefix) if frame.prefix else self.sheets[0],
            True,
            device.fields,
            device.kind,
        )
        if device.description.startswith("SPICE subcircuit"):
            self.deck.pass_over(
                f"subcircuit {device.value[:40]} without a definition, kept as a part",
                device.line,
            )

    def _sheet(self, prefix: str) -> str:
        found = self._texts.get(prefix)
        if found is None:
            found = self._texts[prefix] = "/" + prefix.replace(".", "/")
        return found

    def _value(self, device: Device, frame: _Frame) -> str:
        text = device.value
        if not device.unit:
            return text
        plain = plain_value(text, device.unit)
        if plain is None:
            number = frame.scope.number(text)
            if number is None:
                self.deck.pass_over("value that cannot be worked out", device.line)
                return text
            value = board_value(number, device.unit)
        else:
            value, letter_inside = plain
            if letter_inside:
                what = "value like 4k7, read as 4.7k (some simulators read 4k)"
                self.deck.pass_over(what, device.line)
        return self._texts.setdefault(value, value)

    def unused_definitions(self) -> Mapping[str, int]:
        """Return how many subcircuits no instance uses, by what to call them."""
        count = 0
        pending = [self.deck.top]
        while pending:
            here = pending.pop()
            for inner in here.subcircuits.values():
                count += id(inner) not in self._used
                pending.append(inner)
        return {"subcircuit that nothing uses": count} if count else {}
