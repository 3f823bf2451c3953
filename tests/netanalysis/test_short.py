"""What can hold a net down: worked examples, and laws on real boards."""

import pytest
from _oracles import designs
from _small_boards import board

from ohmtrail.fixtures import named_board_path
from ohmtrail.importers import load
from ohmtrail.netanalysis.board import Part
from ohmtrail.netanalysis.circuit import Kind
from ohmtrail.netanalysis.cut_points import bridges
from ohmtrail.netanalysis.failure_rates import short_rate
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.short import find_short


def three_phase():
    return recognise(load(named_board_path("three_phase")), {})


def by_ref(answer):
    return {suspect.ref: suspect for suspect in answer.parts}


def test_a_core_rail_is_held_down_by_its_phases_through_their_inductors():
    suspects = by_ref(find_short(three_phase(), "VCORE_1V0"))
    for phase in "123":
        # Both low sides of the phase, beyond its inductor, and nothing assumed.
        for ref in (f"Q{phase}03", f"Q{phase}04"):
            assert suspects[ref].via == (f"L{phase}01",)
            assert suspects[ref].assumes == ()
            assert suspects[ref].role == "low side: drain"


def test_an_input_rail_sees_the_core_through_a_shorted_high_side():
    suspects = by_ref(find_short(three_phase(), "VMAIN"))
    # The high sides hang on the rail themselves.
    assert suspects["Q101"].via == ()
    # The core's capacitor is beyond a switch and that phase's inductor: it counts
    # only with the switch shorted, so less than the same capacitor would here.
    core = suspects["C109"]
    assert len(core.assumes) == 1
    assert core.via[0] == core.assumes[0]
    assert core.assumes[0] in {"Q101", "Q102", "Q201", "Q202", "Q301", "Q302"}
    assert core.prior < suspects["C103"].prior


def test_lifting_a_phase_inductor_splits_its_switches_off():
    cuts = {cut.ref: cut for cut in find_short(three_phase(), "VCORE_1V0").cut_points}
    assert {"L101", "L201", "L301"} <= cuts.keys()
    assert {"Q101", "Q102", "Q103", "Q104"} <= set(cuts["L101"].far)
    assert "Q201" in cuts["L101"].near
    for cut in cuts.values():
        assert not set(cut.near) & set(cut.far)


def test_priors_follow_published_rates_and_sum_to_one():
    # One MOSFET and one ceramic to ground: 0.014*.51 to 0.00078*.49
    # (MIL-HDBK-217F and -338B as RAMSTK transcribes them).
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=+12V 2:=GND
            Q1 NFET Device:Q_NMOS_GDS G=G1 D=+12V S=GND
            C1 100n Device:C 1:=+12V 2:=GND
            """
        ),
        {},
    )
    suspects = by_ref(find_short(circuit, "+12V"))
    ratio = suspects["Q1"].prior / suspects["C1"].prior
    assert ratio == pytest.approx(0.014 * 0.51 / (0.00078 * 0.49), rel=1e-9)
    assert sum(one.prior for one in suspects.values()) == pytest.approx(1)


def test_nineteen_ceramics_weigh_more_than_one_mosfet():
    # Worked out from the same two rows: 0.00714 against 0.000382 n.
    part = Part("X1", "", ())
    mosfet = short_rate(part, Kind("mosfet", "")).weight
    ceramic = short_rate(part, Kind("capacitor", "")).weight
    assert 18 * ceramic < mosfet < 19 * ceramic


def test_order_of_shorts_where_one_of_each_fails():
    # MIL-HDBK-338B shares, REFERENCES: bipolar, tantalum, aluminium, FET, ceramic,
    # coil, film capacitor, resistor.
    part = Part("X1", "", ())
    kinds = [
        Kind("bipolar", ""),
        Kind("capacitor", "", "tantalum"),
        Kind("capacitor", "", "electrolytic"),
        Kind("mosfet", ""),
        Kind("capacitor", ""),
        Kind("inductor", ""),
        Kind("capacitor", "", "film"),
        Kind("resistor", ""),
    ]
    shares = [short_rate(part, kind).short_share for kind in kinds]
    assert shares == [0.73, 0.69, 0.53, 0.51, 0.49, 0.42, 0.40, 0.05]


def test_parts_that_are_not_fitted_hold_nothing_down():
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=+5V 2:=GND
            C1 100n Device:C 1:=+5V 2:=GND
            C2 100n Device:C 1:=+5V 2:=GND dnp
            """
        ),
        {},
    )
    assert "C2" not in by_ref(find_short(circuit, "+5V"))


def test_a_capacitor_to_a_power_ground_behind_a_shunt_counts_in_full():
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=+12V 2:=GND
            R1 2m Device:R 1:=PG 2:=GND
            C1 100n Device:C 1:=+12V 2:=PG
            C2 100n Device:C 1:=+12V 2:=GND
            C3 100n Device:C 1:=+12V 2:=OTHER
            R9 10k Device:R 1:=OTHER 2:=GND
            """
        ),
        {},
    )
    suspects = by_ref(find_short(circuit, "+12V"))
    assert suspects["C1"].prior == pytest.approx(suspects["C2"].prior)
    assert suspects["C3"].prior < suspects["C2"].prior


def test_between_two_rails_only_what_touches_both_is_suspect():
    answer = find_short(three_phase(), "VMAIN", "VCORE_1V0")
    assert {s.ref for s in answer.parts if s.kind == "mosfet"} == {
        "Q101",
        "Q102",
        "Q201",
        "Q202",
        "Q301",
        "Q302",
    }
    assert not any(s.kind == "capacitor" and s.ref == "C103" for s in answer.parts)


def test_to_ground_is_the_same_as_without_to():
    circuit = three_phase()
    plain = find_short(circuit, "VMAIN")
    stated = find_short(circuit, "VMAIN", "GND")
    assert stated.parts == plain.parts
    assert stated.to == "GND"


@pytest.mark.parametrize(
    ("net", "to", "words"),
    [("GND", None, "GND is ground"), ("VMAIN", "VMAIN", "given twice")],
)
def test_questions_without_an_answer(net, to, words):
    with pytest.raises(NotOnBoardError, match=words):
        find_short(three_phase(), net, to)


def test_bridges_of_a_ring_and_a_tail():
    ring = [("A", "1", "2"), ("B", "2", "3"), ("C", "3", "1"), ("T", "3", "4")]
    assert bridges("1", ring) == {"T": frozenset({"4"})}


def test_a_part_with_two_edges_is_no_bridge():
    assert bridges("1", [("T1", "1", "2"), ("T1", "2", "3")]) == {}


def _reach_without(circuit, start, lifted):
    """Nets reached by links alone with one part off, the slow and plain way."""
    reached, queue = {start}, [start]
    for net in queue:
        for link in circuit.links:
            if link.ref == lifted or net not in (link.net_a, link.net_b):
                continue
            other = link.net_b if net == link.net_a else link.net_a
            if other not in reached and other not in circuit.ground:
                reached.add(other)
                queue.append(other)
    return reached


@pytest.mark.parametrize("design", designs("kicad6+"))
def test_laws_on_real_boards(design):
    circuit = recognise(load(design.root), {})
    view = view_of(circuit)
    for rail in circuit.rails:
        if rail.net in circuit.ground or not circuit.ground:
            continue
        answer = find_short(circuit, rail.net)
        refs = [suspect.ref for suspect in answer.parts]
        assert len(set(refs)) == len(refs)
        # Every fitted part on the rail is there.
        assert set(view.refs(rail.net)) <= set(refs)
        assert not refs or sum(s.prior for s in answer.parts) == pytest.approx(1)
        for suspect in answer.parts:
            assert view.fitted(suspect.ref)
            assert set(suspect.assumes) <= set(suspect.via)
            pins = {pin.number for pin in view.pins_on(suspect.ref, suspect.net)}
            assert set(suspect.pins) == pins
        # A cut really cuts: what goes is reached no more without the part.
        place = {s.ref: s for s in answer.parts}
        for cut in answer.cut_points:
            left = _reach_without(circuit, rail.net, cut.ref)
            for ref in cut.far:
                if not place[ref].assumes:
                    assert place[ref].net not in left


def test_between_the_grounds_of_an_isolation_only_what_bridges_it():
    # What touches one side alone cannot join the two (Kirchhoff's current law).
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=+12V 2:=GND
            C1 10u Device:C 1:=+12V 2:=GND
            U1 OPTO Isolator:OPTO A=N1 K=GND C=N2 E=GND_ISO
            C9 2n2 Device:C 1:=GND 2:=GND_ISO
            U2 LOGIC - VDD=+5V VSS=GND_ISO
            C2 10u Device:C 1:=+5V 2:=GND_ISO
            """
        ),
        {},
    )
    assert {"GND", "GND_ISO"} <= set(circuit.ground)
    for ends in (("GND", "GND_ISO"), ("GND_ISO", "GND")):
        assert set(by_ref(find_short(circuit, *ends))) == {"U1", "C9"}
