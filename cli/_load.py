"""The options that every command on a board takes, and what they load."""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from ohmtrail.cli._errors import warn

if TYPE_CHECKING:
    from ohmtrail.netanalysis.board import Board
    from ohmtrail.netanalysis.circuit import Circuit
    from ohmtrail.netanalysis.network.meter import Meter

__all__ = [
    "HAVE_DEFAULT",
    "Request",
    "board_options",
    "load_board",
    "load_circuit",
]

_F = TypeVar("_F", bound=Callable[..., Any])

#: What a bench can have, and what it is taken to have.
MODES = ("resistance", "diode", "four-wire", "drop", "voltage")
HAVE_DEFAULT = ("resistance", "diode", "four-wire", "drop")


@dataclass(frozen=True, slots=True)
class Request:
    """What the shared options ask for."""

    path: Path
    format: str | None = None
    #: Further views of the same board.
    views: tuple[Path, ...] = ()
    #: (net as typed, volts).
    nominal: tuple[tuple[str, float], ...] = ()
    good: Path | None = None
    meter_file: Path | None = None
    #: What the file says; None without a file, see `meter`.
    meter_told: "Meter | None" = None
    have: tuple[str, ...] = HAVE_DEFAULT
    json: bool = False

    @property
    def meter(self) -> "Meter":
        """The meter of ``--meter``, or a common handheld."""
        from ohmtrail.netanalysis.network.meter import DEFAULT_METER

        return self.meter_told or DEFAULT_METER


def _volts(text: str) -> float | None:
    """Read "19", "19V", "0.9 V", "3V3"."""
    text = text.strip()
    match = re.fullmatch(r"(\d+)[vV](\d+)", text)
    if match:
        return float(f"{match[1]}.{match[2]}")
    match = re.fullmatch(r"([+-]?(?:\d+\.?\d*|\.\d+)) ?(m?)[vV]?", text)
    if match is None:
        from ohmtrail.cli._units import quantity

        return quantity(text, "volt")
    return float(match[1]) * (1e-3 if match[2] else 1.0)


def _read_nominal(
    ctx: click.Context, param: click.Parameter, texts: tuple[str, ...]
) -> tuple[tuple[str, float], ...]:
    found = []
    for text in texts:
        net, equals, number = text.rpartition("=")
        volts = _volts(number)
        if not equals or not net or volts is None:
            raise click.BadParameter(f"found {text!r}, expected NET=VOLTS", ctx, param)
        found.append((net, volts))
    return tuple(found)


def _read_have(
    ctx: click.Context, param: click.Parameter, text: str
) -> tuple[str, ...]:
    modes = tuple(word.strip() for word in text.split(",") if word.strip())
    for mode in modes:
        if mode not in MODES:
            raise click.BadParameter(
                f"found {mode!r}, expected some of {','.join(MODES)}", ctx, param
            )
    if not modes:
        raise click.BadParameter(
            f"found nothing, expected some of {','.join(MODES)}", ctx, param
        )
    return modes


_FORMAT_OPTION = click.option(
    "--format",
    "format",
    metavar="NAME",
    help="Take the file as this format ('ohmtrail formats' lists them).",
)

_OPTIONS = (
    click.option(
        "--with",
        "views",
        multiple=True,
        metavar="FILE",
        help="A second view of the same board: a layout for positions, a netlist "
        "for pin names, a table for values.",
    ),
    click.option(
        "--nominal",
        multiple=True,
        metavar="NET=VOLTS",
        callback=_read_nominal,
        help="State a rail's voltage.",
    ),
    click.option("--good", metavar="LOG", help="Readings of a good board."),
    click.option("--meter", metavar="FILE", help="Describes the meter."),
    click.option(
        "--have",
        default=",".join(HAVE_DEFAULT),
        show_default=True,
        metavar="MODES",
        callback=_read_have,
        help="What the bench has.",
    ),
    click.option("--json", "json", is_flag=True, help="Answer for programs."),
)


def _readable(name: str, text: str | None) -> Path | None:
    if text is None:
        return None
    from ohmtrail.cli._files import read_file

    path = Path(text)
    read_file(path, 0, name)
    return path


def _read_meter(text: str | None) -> "Meter | None":
    if text is None:
        return None
    from ohmtrail.cli._meter import read_meter

    return read_meter(Path(text))


def board_options(*, with_format: bool = True) -> Callable[[_F], Callable[..., Any]]:
    """Give a command BOARD and the shared options, as one `Request`.

    ``with_format`` False leaves ``--format`` to the command, which then passes
    the importer's name as ``format`` itself.
    """

    def decorate(function: _F) -> Callable[..., Any]:
        @wraps(function)
        def wrapper(
            board: str,
            views: tuple[str, ...],
            nominal: tuple[tuple[str, float], ...],
            good: str | None,
            meter: str | None,
            have: tuple[str, ...],
            json: bool,
            **rest: Any,
        ) -> Any:
            request = Request(
                path=Path(board),
                format=rest.pop("format") if with_format else None,
                views=tuple(Path(view) for view in views),
                nominal=nominal,
                good=_readable("--good", good),
                meter_file=None if meter is None else Path(meter),
                meter_told=_read_meter(meter),
                have=have,
                json=json,
            )
            return function(request, **rest)

        command: Callable[..., Any] = wrapper
        for option in reversed(_OPTIONS):
            command = option(command)
        if with_format:
            command = _FORMAT_OPTION(command)
        return click.argument("board", metavar="BOARD")(command)

    return decorate


def _load_one(path: Path, format: str | None) -> "Board":
    from ohmtrail.importers._registry import load

    return load(path, format)


def _check_format(name: str) -> None:
    from ohmtrail.importers._registry import importers
    from ohmtrail.netanalysis.nearest import nearest

    table = importers()
    if name not in table:
        near = nearest(name, table)
        hint = f"; did you mean {near[0]}?" if near else ""
        known = ", ".join(table)
        raise click.UsageError(f"no format {name!r}; there are {known}{hint}")


_T = TypeVar("_T")


def _kept(what: str, request: Request, make: Callable[[], _T]) -> _T:
    """Return what was made before from the same files, else make and keep it."""
    import gc

    # An import makes many objects and no cycles: collecting between is wasted.
    gc.disable()
    try:
        return _from_cache(what, request, make)
    finally:
        gc.enable()


def _from_cache(what: str, request: Request, make: Callable[[], _T]) -> _T:
    from ohmtrail.cli._cache import open_cache

    cache = open_cache()
    if cache is None:
        return make()
    import os

    question = (
        what,
        os.getcwd(),
        str(request.path),
        request.format,
        tuple(map(str, request.views)),
        request.nominal,
    )
    answer: _T | None = cache.get(question)
    if answer is None:
        from ohmtrail.importers._trace import FOREIGN, traced

        with traced() as files:
            answer = make()
        if FOREIGN not in files:
            cache.put(question, answer, files)
    return answer


def load_board(request: Request) -> "Board":
    """Read the board and its further views, or take what was kept of them."""
    if request.format is not None:
        _check_format(request.format)
    board = _kept("board", request, lambda: _read_board(request))
    if request.nominal:
        from ohmtrail.netanalysis.probe_points import find_net

        for net, _ in request.nominal:
            find_net(board, net)
    board = _with_options(board, request)
    _note_unused(board, request)
    return board


def _read_board(request: Request) -> "Board":
    board = _load_one(request.path, request.format)
    if request.views:
        from ohmtrail.netanalysis.join import join

        for view in request.views:
            board = join(board, _load_one(view, None), str(view))
    return board


def _with_options(
    board: "Board", request: Request, uses: tuple[str, ...] = ()
) -> "Board":
    """Count options that the answer does not take into account as not used."""
    from ohmtrail.netanalysis.board import Unused

    ignored = tuple(
        Unused(f"{option}: this answer does not take it into account", str(path))
        for option, path in (("--good", request.good), ("--meter", request.meter_file))
        if path is not None and option not in uses
    )
    if not ignored:
        return board
    return replace(board, unused=(*board.unused, *ignored))


def _note_unused(board: "Board", request: Request) -> None:
    """Say on stderr how much of the file was not used, if any."""
    total = sum(unused.count for unused in board.unused)
    if total:
        first = board.unused[0]
        where = f" ({first.where})" if first.where else ""
        more = "" if len(board.unused) == 1 else ", ..."
        warn(
            f"{request.path}: {total} not used: {first.what}{where}{more}; "
            "'ohmtrail summary' lists all"
        )


def load_circuit(request: Request, uses: tuple[str, ...] = ()) -> "Circuit":
    """Read the board and recognise what is on it, or take what was kept.

    ``uses`` names the options ("--good", "--meter") that the caller sees to itself;
    given and seen to by nobody they are counted as not used.
    """
    if request.format is not None:
        _check_format(request.format)
    circuit = _kept("circuit", request, lambda: _read_circuit(request))
    board = _with_options(circuit.board, request, uses)
    _note_unused(board, request)
    return circuit if board is circuit.board else replace(circuit, board=board)


def _read_circuit(request: Request) -> "Circuit":
    from ohmtrail.netanalysis.probe_points import find_net
    from ohmtrail.netanalysis.recognise import recognise

    board = _read_board(request)
    stated = dict(board.stated_volts)
    stated |= {find_net(board, net): volts for net, volts in request.nominal}
    return recognise(board, stated)
