"""What the meter should read between two points of a board."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.network.elements import Resistance
from ohmtrail.netanalysis.network.expect_diode import (
    Diode,
    diode_between,
    prepare_diode,
)
from ohmtrail.netanalysis.network.expect_ohms import Ohms, ohms_between
from ohmtrail.netanalysis.network.expectation import (
    Expectation,
    ohm_text,
    reasons,
    unknown,
)
from ohmtrail.netanalysis.network.likely import LIKELY
from ohmtrail.netanalysis.network.meter import DEFAULT_METER, Meter
from ohmtrail.netanalysis.network.scene import Element
from ohmtrail.netanalysis.network.solved_board import SolvedBoard
from ohmtrail.netanalysis.probe_points import ProbePoint, find_part, find_point
from ohmtrail.netanalysis.verdict import rail_volts

__all__ = ["MODES", "expect", "expect_many"]

MODES = ("resistance", "diode", "four-wire", "drop", "voltage")
#: Two leads touch, and where the needle lands moves a four-wire reading (CP).
_LANDING_OHMS = 1e-3
#: A powered rail against its nominal voltage (CP).
_RAIL_SHARE = 0.05
#: Parts named as what sets a reading.
_NAMED_MAX = 12


def expect(
    board: Circuit | SolvedBoard,
    mode: str,
    plus: str | ProbePoint,
    minus: str | ProbePoint,
    *,
    lifted: Iterable[str] = (),
    meter: Meter = DEFAULT_METER,
    swap: bool = True,
) -> Expectation:
    """Return what the meter should read of a healthy board.

    Parameters
    ----------
    board : Circuit or SolvedBoard
        A solved board serves many questions and brings its own meter.
    mode : str
        One of `MODES`.
    plus, minus : str or ProbePoint
        Where the red and the black lead go.
    lifted : iterable of str
        Refs of parts taken off the board.
    meter : Meter
        What a `Circuit` is measured with.
    swap : bool
        Also work out whether swapping the probes tells something.

    Raises
    ------
    NotOnBoardError
        If a point or a part is not on the board.
    ValueError
        If the mode is none of `MODES`.

    Notes
    -----
    The range is exact for elements within their ranges, plus the meter's own error;
    what nobody can tell is None, with the reason in ``source``.
    """
    solved = (
        board if isinstance(board, SolvedBoard) else SolvedBoard(board, meter=meter)
    )
    gone = [find_part(solved.circuit.board, ref).ref for ref in lifted]
    return expect_many(solved.lifted(gone), [(mode, plus, minus)], swap=swap)[0]


def expect_many(
    board: SolvedBoard,
    wanted: Sequence[tuple[str, str | ProbePoint, str | ProbePoint]],
    *,
    swap: bool = False,
) -> list[Expectation]:
    """Return what the meter should read, for many (mode, plus, minus) at once.

    Raises and means as `expect`; much cheaper than as many calls of it.
    """
    drawn, board = board, board.likely
    found: list[Expectation | None] = [None] * len(wanted)
    ohms: dict[str, list[tuple[int, ProbePoint, ProbePoint]]] = {}
    prepare_diode(
        board,
        [
            (_node(_point(board, plus)), _node(_point(board, minus)))
            for mode, plus, minus in wanted
            if mode == "diode"
        ],
        swap=swap,
    )
    for k, (mode, plus, minus) in enumerate(wanted):
        if mode not in MODES:
            raise ValueError(f"no mode {mode!r}; there are {', '.join(MODES)}")
        red, black = _point(board, plus), _point(board, minus)
        if mode == "voltage":
            found[k] = _volts(board, red, black)
        elif mode == "drop":
            why = "unknown: it depends on the current injected and the way it takes"
            found[k] = unknown(mode, str(red), str(black), why)
        elif mode == "diode":
            nodes = _node(red), _node(black)
            one = diode_between(board, *nodes, swap=swap)
            found[k] = _diode(board, red, black, one)
        else:
            ohms.setdefault(mode, []).append((k, red, black))
    for mode, several in ohms.items():
        pairs = [(_node(red), _node(black)) for _, red, black in several]
        for (k, red, black), read in zip(
            several, ohms_between(board, mode, pairs, swap=swap), strict=True
        ):
            found[k] = _ohms(board, mode, red, black, read)
    return [_told(drawn, one) for one in found if one is not None]


def _told(drawn: SolvedBoard, found: Expectation) -> Expectation:
    """Return the expectation with a note where likely ends take part."""
    if found.low is None or not any(
        isinstance(one, Resistance) and one.likely is not None
        for ref in found.because
        for one in drawn.elements(ref)
    ):
        return found
    return replace(found, notes=(*found.notes, LIKELY))


def _point(board: SolvedBoard, point: str | ProbePoint) -> ProbePoint:
    if isinstance(point, ProbePoint):
        return point
    return find_point(board.circuit.board, point)


def _node(point: ProbePoint) -> str:
    if point.net is not None:
        return point.net
    assert point.pin is not None, "a point is a pad or a net"
    return f"{point.pin.ref}#{point.pin.number}"


def _notes(board: SolvedBoard, red: ProbePoint, black: ProbePoint) -> list[str]:
    """Return what the network cannot know about the parts at the two points."""
    notes = []
    dumb: dict[str, None] = {}
    view = board.scene.view
    for net in (red.net, black.net):
        if view.is_ground(net):
            continue
        for ref in view.refs(net):
            nets = view.nets(ref)
            kinds = ("transformer", "mosfet", "bipolar", "igbt", "relay", "chip")
            if (
                len(nets) > 1
                and view.kind(ref) in kinds
                and ref not in board.state.lifted
                and not board.elements(ref)
            ):
                dumb[ref] = None
    if dumb:
        names = ", ".join(list(dumb)[:4]) + (" ..." if len(dumb) > 4 else "")
        notes.append(f"nothing is known of what {names} conducts here")
    return notes


def _assumed(elements: Iterable[Element]) -> bool:
    return any(one.assumed for one in elements)


def _ohms(
    board: SolvedBoard, mode: str, red: ProbePoint, black: ProbePoint, read: Ohms
) -> Expectation:
    nodes = {_node(red), _node(black)}
    low, high = read.low, read.high
    if mode == "four-wire" and high < math.inf:
        high += _LANDING_OHMS
    because = read.because[:_NAMED_MAX]
    named = [one for ref in because for one in _between(board, ref, nodes, read.woke)]
    notes = _notes(board, red, black)
    if len(nodes) == 1:
        return Expectation(
            mode, str(red), str(black), 0.0, 0.0, high, "ohms", (), "one net: copper",
            tuple(notes),
        )  # fmt: skip
    if read.woke:
        parts = ", ".join(read.woke[:3]) + (" ..." if len(read.woke) > 3 else "")
        notes.append(f"the test voltage wakes junctions: {parts}")
    swapped = read.swapped if read.polar else None
    if swapped is not None:
        notes.append("swap the probes: silicon differs both ways, a short does not")
    if not because:
        notes.append("no path is known between the two")
    return Expectation(
        mode,
        str(red),
        str(black),
        low,
        read.typical,
        high,
        "ohms",
        because,
        reasons(named) or "no path is known between the two",
        tuple(notes),
        _swap_words(swapped, "ohms"),
        swapped,
        _assumed(named),
    )


def _between(
    board: SolvedBoard, ref: str, nodes: set[str], woke: Sequence[str]
) -> list[Element]:
    """Return the elements by which a part takes part, those at the probes first."""
    mine = board.elements(ref)
    paths: list[Element] = [one for one in mine if isinstance(one, Resistance)]
    if ref in woke or not paths:
        paths = mine
    ends = [one for one in paths if nodes & _ends(one)]
    return (ends or paths)[:1]


def _ends(one: Element) -> set[str]:
    if isinstance(one, Resistance):
        return {one.a, one.b}
    return {one.anode, one.cathode}


def _diode(
    board: SolvedBoard, red: ProbePoint, black: ProbePoint, read: Diode
) -> Expectation:
    nodes = {_node(red), _node(black)}
    because = read.because[:_NAMED_MAX]
    named = [one for ref in because for one in _between(board, ref, nodes, because)]
    notes = _notes(board, red, black)
    swapped = read.swapped if read.polar else None
    return Expectation(
        "diode",
        str(red),
        str(black),
        read.low,
        read.typical,
        read.high,
        "volts",
        because,
        reasons(named) or "no path is known between the two",
        tuple(notes),
        _swap_words(swapped, "volts"),
        swapped,
        _assumed(named),
    )


def _volts(board: SolvedBoard, red: ProbePoint, black: ProbePoint) -> Expectation:
    """Return the nominal voltage between two nets of a powered board."""
    circuit = board.circuit
    ends: list[float] = []
    for point in (red, black):
        net = point.net
        volts = 0.0 if net in circuit.ground else rail_volts(circuit, net or "")
        if volts is None:
            why = f"unknown: the voltage of {point} is not known (--nominal NET=VOLTS)"
            return unknown("voltage", str(red), str(black), why)
        ends.append(volts)
    typical = ends[0] - ends[1]
    error = _RAIL_SHARE * (abs(ends[0]) + abs(ends[1]))
    refs = tuple(
        dict.fromkeys(
            rail.source
            for rail in circuit.rails
            if rail.net in (red.net, black.net) and rail.source is not None
        )
    )
    notes: tuple[str, ...] = ()
    if board.state.lifted:
        notes = ("as if every part were fitted",)
    return Expectation(
        "voltage",
        str(red),
        str(black),
        round(typical - error, 9),
        round(typical, 9),
        round(typical + error, 9),
        "volts",
        refs,
        f"nominal {typical:g} V, {100 * _RAIL_SHARE:g} % (common practice)",
        notes,
    )


def _swap_words(value: float | None, unit: str) -> str:
    if value is None:
        return ""
    if math.isinf(value):
        shown = "OL"
    else:
        shown = f"{ohm_text(value)} ohm" if unit == "ohms" else f"{value:.3g} V"
    return f"{shown} with the probes swapped"
