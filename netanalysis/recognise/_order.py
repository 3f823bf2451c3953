"""The recognisers in their fixed order: each reads earlier results only."""

from collections.abc import Mapping
from dataclasses import replace

from ohmtrail.netanalysis.board import Board
from ohmtrail.netanalysis.circuit import Circuit, Stage
from ohmtrail.netanalysis.graph import CircuitView, index_board, marked_ohms
from ohmtrail.netanalysis.recognise.ground import ground_nets, join_grounds
from ohmtrail.netanalysis.recognise.implied_names import (
    Implied,
    implied_by_nets,
    implied_names,
    inferred,
    with_names,
)
from ohmtrail.netanalysis.recognise.kinds import recognise_kinds
from ohmtrail.netanalysis.recognise.links import find_links
from ohmtrail.netanalysis.recognise.parallel import find_parallel_sets
from ohmtrail.netanalysis.recognise.pin_roles import recognise_roles
from ohmtrail.netanalysis.recognise.rails import name_rails, supply_tree
from ohmtrail.netanalysis.recognise.stages import find_stages
from ohmtrail.netanalysis.recognise.transistor_kinds import (
    transistor_kinds,
    unmarked_shunts,
)

__all__ = ["base_view", "recognise"]


def base_view(
    board: Board, stated_volts: Mapping[str, float] | None = None
) -> CircuitView:
    """Return the view that stages start from: kinds to first-pass rails.

    Parameters
    ----------
    board : Board
        The design.
    stated_volts : mapping, optional
        Nominal volts that the user states, by net.

    Notes
    -----
    O(pins) in all.
    """
    view = CircuitView(index_board(board), stated_volts=dict(stated_volts or {}))
    implied = implied_by_nets(board)
    view = with_names(view, implied)
    view = replace(view, kinds=recognise_kinds(view.board))
    view = replace(view, ohms_by_ref=marked_ohms(board, view.kinds))
    view = replace(view, ground=ground_nets(view))
    view = view.with_links(find_links(view))
    view = replace(view, ground=join_grounds(view, view.ground, view.links))
    view = _with_roles(view, implied)
    known = transistor_kinds(view)
    if known:
        view = replace(view, kinds={**view.kinds, **known})
        view = _with_roles(view, implied)
    shunts = unmarked_shunts(view)
    if shunts:
        view = _with_roles(view.with_links((*view.links, *shunts)), implied)
    more = implied_names(view, board)
    return _with_roles(with_names(view, more), implied | more) if more else view


def _with_roles(view: CircuitView, implied: Implied) -> CircuitView:
    view = replace(view, roles=inferred(recognise_roles(view), implied))
    return view.with_rails(name_rails(view))


def recognise(board: Board, stated_volts: Mapping[str, float] | None = None) -> Circuit:
    """Recognise everything on a board.

    Parameters
    ----------
    board : Board
        The design.
    stated_volts : mapping, optional
        Nominal volts that the user states, by net; they win over names.

    Returns
    -------
    Circuit
        The board as given (names that were worked out stay out of it) with every
        opinion and its reason.
    """
    view = base_view(board, stated_volts)
    stages: tuple[Stage, ...] = find_stages(view)
    return Circuit(
        board=board,
        ground=view.ground,
        kinds=view.kinds,
        roles=view.roles,
        links=view.links,
        rails=supply_tree(view, stages),
        parallel_sets=find_parallel_sets(view),
        stages=stages,
        stated_volts=view.stated_volts,
        unfitted=view.index.unfitted,
    )
