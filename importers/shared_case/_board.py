"""The board of a shared case."""

from typing import Any

from ohmtrail.importers._bounds import PARTS_MAX, PINS_MAX, too_many
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.shared_case._case import NAME_MAX, TEXT_MAX, VERSION, bare_name
from ohmtrail.importers.shared_case._fields import Fields
from ohmtrail.netanalysis.board import (
    Board,
    BoardError,
    Part,
    Pin,
    Unused,
    make_board,
)
from ohmtrail.netanalysis.circuit import KINDS

__all__ = ["read_board"]

#: Entries of a pin.
_CELLS = 8
_SIDES = ("", "top", "bottom", "both")
#: Entries of one kind within one part or net, and of what was not used.
_MANY = 10_000
_COUNT_MAX = 1_000_000_000


def _nets(fields: Fields) -> list[list[str]]:
    found = []
    seen: set[str] = set()
    for row in fields.rows("nets", PINS_MAX):
        names = [
            fields.as_text(name, "a net's name", NAME_MAX)
            for name in fields.as_list(row, "a net", _MANY, 1)
        ]
        if names[0] in seen:
            fields.fail(f"the net {names[0][:60]!r} twice", "each once")
        seen.add(names[0])
        found.append(names)
    return found


def _point(fields: Fields, value: Any, what: str) -> tuple[float, float]:
    pair = [fields.as_number(one, what) for one in fields.as_list(value, what, 2, 2)]
    if pair[0] is None or pair[1] is None:
        fields.fail(f"nothing in {what}", "two numbers")
    return pair[0], pair[1]


def _outline(fields: Fields) -> list[tuple[tuple[float, float], ...]]:
    found = []
    for line in fields.rows("outline_mm", PARTS_MAX):
        points = fields.as_list(line, "a line of the outline", PARTS_MAX)
        found.append(tuple(_point(fields, one, "a point") for one in points))
    return found


def _pin(fields: Fields, ref: str, row: Any, nets: list[list[str]]) -> Pin:
    cells = fields.as_list(row, f"a pin of {ref[:60]}", _CELLS, 1)
    cells = cells + [None] * (_CELLS - len(cells))
    number, net, name, electrical, x, y, side, land = cells
    if net is not None:
        if isinstance(net, bool) or not isinstance(net, int):
            fields.fail(f"no number as the net of a pin of {ref[:60]}", "one")
        if not 0 <= net < len(nets):
            fields.fail(f"net {str(net)[:20]} of {ref[:60]}", f"0 to {len(nets) - 1}")
    return Pin(
        ref,
        fields.as_text(number, "a pin's number", NAME_MAX),
        None if net is None else nets[net][0],
        fields.as_text(name or "", "a pin's name", NAME_MAX),
        fields.as_text(electrical or "", "a pin's type", NAME_MAX),
        fields.as_number(x, "a pin's x"),
        fields.as_number(y, "a pin's y"),
        fields.one_of(side or "", "a pin's side", _SIDES),
        None if land is None else _point(fields, land, "a land"),
    )


def _part(fields: Fields, row: Any, nets: list[list[str]]) -> Part:
    one = Fields(row, "a part", fields.path)
    ref = one.text("ref", NAME_MAX)
    one.where = f"part {ref[:60]}"
    at = one.rows("at_mm", 2)
    if len(at) == 1:
        one.fail("one coordinate", "two")
    x, y = (one.as_number(value, "a position") for value in at or (None, None))
    fitted = one.any("fitted")
    if fitted not in (None, True, False):
        one.fail("no true or false as fitted", "one")
    fields_told = []
    for pair in one.rows("fields", _MANY):
        key, text = one.as_list(pair, "a field", 2, 2)
        fields_told.append(
            (
                one.as_text(key, "a field's name", NAME_MAX),
                one.as_text(text, "a field", TEXT_MAX),
            )
        )
    kind = one.text("kind", NAME_MAX, "")
    made = Part(
        ref=ref,
        value=one.text("value", TEXT_MAX),
        pins=tuple(_pin(one, ref, pin, nets) for pin in one.rows("pins", PINS_MAX)),
        library=one.text("library", TEXT_MAX, ""),
        footprint=one.text("footprint", TEXT_MAX, ""),
        description=one.text("description", TEXT_MAX, ""),
        keywords=one.text("keywords", TEXT_MAX, ""),
        sheet=one.text("sheet", NAME_MAX, "/"),
        fitted=fitted is not False,
        fields=tuple(fields_told),
        stated_kind=one.one_of(kind, "kind", ("", *KINDS)),
        x_mm=x,
        y_mm=y,
        side=one.one_of(one.any("side") or "", "side", _SIDES),
    )
    one.end()
    return made


def _nominal(fields: Fields, nets: list[list[str]]) -> tuple[tuple[str, float], ...]:
    names = {net[0] for net in nets}
    found = []
    for row in fields.rows("nominal", PINS_MAX):
        net, value = fields.as_list(row, "a rail's volts", 2, 2)
        volts = fields.as_number(value, "a rail's volts", 1e6)
        if not isinstance(net, str) or net not in names or volts is None:
            fields.fail("volts of no net", "a net of the board and its volts")
        found.append((net, volts))
    return tuple(found)


def _unused(fields: Fields) -> tuple[Unused, ...]:
    found = []
    for row in fields.rows("unused", _MANY):
        what, where, count = fields.as_list(row, "what was not used", 3, 3)
        if isinstance(count, bool) or not isinstance(count, int):
            fields.fail("no number as a count", "one")
        if not 0 <= count <= _COUNT_MAX:
            fields.fail("a count out of bounds", f"0 to {_COUNT_MAX}")
        what = fields.as_text(what, "what was not used", TEXT_MAX)
        found.append(Unused(what, fields.as_text(where, "a place", TEXT_MAX), count))
    return tuple(found)


def read_board(fields: Fields) -> Board:
    """Return the board that a shared case describes.

    Raises
    ------
    ParseError
        If anything in it is not as `case_bytes` writes it.
    """
    name = fields.text("name", NAME_MAX)
    if not bare_name(name):
        fields.fail(f"the name {name[:60]!r}", "a name without folders")
    nets = _nets(fields)
    rows = fields.rows("parts", PARTS_MAX)
    parts, pins = [], 0
    for row in rows:
        parts.append(_part(fields, row, nets))
        pins += len(parts[-1].pins)
        if pins > PINS_MAX:
            raise too_many(fields.path)
    source = fields.text("source", NAME_MAX)
    sheets = [
        fields.as_text(one, "a sheet", NAME_MAX) for one in fields.rows("sheets", _MANY)
    ]
    try:
        board = make_board(
            name=name,
            format="shared_case",
            version=f"{VERSION} of {source}",
            parts=parts,
            net_order=(net[0] for net in nets),
            aliases={net[0]: tuple(net[1:]) for net in nets if net[1:]},
            sheets=sheets,
            unused=_unused(fields),
            outline_mm=_outline(fields),
            stated_volts=_nominal(fields, nets),
        )
    except BoardError as error:
        raise ParseError(f"found a contradiction: {error}", fields.path) from None
    fields.end()
    return board
