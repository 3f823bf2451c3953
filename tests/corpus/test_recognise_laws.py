"""Laws of recognition that hold on any board, checked on all of the corpus."""

import pytest
from _oracles import designs

from ohmtrail.importers._registry import load
from ohmtrail.netanalysis.circuit import KINDS
from ohmtrail.netanalysis.graph import to_networkx, view_of
from ohmtrail.netanalysis.recognise import recognise

DESIGNS = designs("kicad6+", "kicad_demo", "kicad_qa")


@pytest.fixture(scope="module")
def circuits():
    return {}


def circuit_of(design, circuits):
    if design.root not in circuits:
        circuits[design.root] = recognise(load(design.root))
    return circuits[design.root]


@pytest.mark.parametrize("design", DESIGNS)
def test_every_opinion_is_about_the_board_and_has_a_reason(design, circuits):
    circuit = circuit_of(design, circuits)
    board = circuit.board
    assert set(circuit.kinds) == {part.ref for part in board.parts}
    for kind in circuit.kinds.values():
        assert kind.kind in KINDS
        assert kind.because
    for (ref, number), role in circuit.roles.items():
        assert board.part_by_ref[ref].pin(number) is not None
        assert role.role
        assert role.because
    for net in circuit.ground:
        assert net in board.net_by_name
    for link in circuit.links:
        part = board.part_by_ref[link.ref]
        assert part.pin(link.pin_a).net == link.net_a
        assert part.pin(link.pin_b).net == link.net_b
        assert link.net_a != link.net_b
        assert link.ref not in circuit.unfitted


@pytest.mark.parametrize("design", DESIGNS)
def test_members_of_a_set_share_their_nets(design, circuits):
    circuit = circuit_of(design, circuits)
    view = view_of(circuit)
    for found in circuit.parallel_sets:
        assert len(set(found.parts)) == len(found.parts) > 1
        assert {circuit.kinds[ref].kind for ref in found.parts} == {found.kind}
        assert not circuit.unfitted & set(found.parts)
        common = set.intersection(*(set(view.nets(ref)) for ref in found.parts))
        assert len(common) >= 2
        if found.gates == "shared":
            gates = {view.net_with_role(ref, "gate") for ref in found.parts}
            assert len(gates) == 1


@pytest.mark.parametrize("design", DESIGNS)
def test_rails_are_nets_with_a_tree_without_strangers(design, circuits):
    circuit = circuit_of(design, circuits)
    rails = {rail.net for rail in circuit.rails}
    assert len(rails) == len(circuit.rails)
    for rail in circuit.rails:
        assert rail.net in circuit.board.net_by_name
        assert rail.net not in circuit.ground
        assert set(rail.feeds) <= rails - {rail.net}
        assert (rail.volts is None) == (rail.volts_because == "")
        for ref in (rail.source, *rail.loads):
            assert ref is None or ref in circuit.board.part_by_ref
        assert rail.source not in rail.loads


@pytest.mark.parametrize("design", DESIGNS)
def test_the_graph_has_every_connected_pin(design, circuits):
    board = circuit_of(design, circuits).board
    graph = to_networkx(board, fitted_only=False)
    pins = sum(1 for part in board.parts for pin in part.pins if pin.net is not None)
    assert graph.number_of_edges() == pins
    assert graph.number_of_nodes() == len(board.parts) + len(board.nets)
