"""What each part is to a meter.  Ranges: common practice, no source, unless said."""

import math

import pytest
from _small_boards import board

from ohmtrail.netanalysis.network.board_state import AS_DRAWN, BoardState
from ohmtrail.netanalysis.network.build import board_scene, build_network, in_hand
from ohmtrail.netanalysis.network.elements import Junction, Resistance
from ohmtrail.netanalysis.recognise import recognise


def circuit(text, **stated):
    return recognise(board(text), stated)


def network(text, state=AS_DRAWN, **stated):
    return build_network(circuit(text, **stated), state)


def only(text, **stated):
    """The single path of a board of one part."""
    found = network(text, **stated)
    assert not found.junctions
    (one,) = found.resistances
    return one


def ways(found, ref=None):
    return {(j.anode, j.cathode) for j in found.junctions if ref in (None, j.ref)}


@pytest.mark.parametrize(
    ("value", "low", "usual", "high"),
    [
        # A marked tolerance, and 5 % where none is (IEC 60063: E24 goes with 5 %).
        ("10k~1%", 9900.0, 10e3, 10100.0),
        ("10k", 9500.0, 10e3, 10500.0),
        # IEC 60062: R at the decimal point, F for 1 %.
        ("4R7F", 4.653, 4.7, 4.747),
    ],
)
def test_a_resistor_is_its_marked_value(value, low, usual, high):
    one = only(f"R1 {value} Device:R 1:=A 2:=B")
    assert {one.a, one.b} == {"A", "B"}
    assert (one.ohms_low, one.ohms, one.ohms_high) == pytest.approx((low, usual, high))
    assert not one.assumed
    assert value.replace("~", " ") in one.because


def test_a_resistor_whose_value_nobody_can_read_may_be_anything():
    one = only("R1 see_note Device:R 1:=A 2:=B")
    assert one.assumed
    assert one.ohms_low < 0.01
    assert one.ohms_high == math.inf


def test_a_zero_ohm_part_is_milliohms():
    one = only("R1 0R Device:R 1:=A 2:=B")
    assert 0 < one.ohms_low < one.ohms < one.ohms_high <= 0.05


def test_an_array_of_four_is_four_resistors():
    found = network(
        "RN1 22R Device:R_Pack04 1:R1.1=a 2:R2.1=b 3:R3.1=c 4:R4.1=d "
        "5:R4.2=D 6:R3.2=C 7:R2.2=B 8:R1.2=A"
    )
    pairs = {frozenset((one.a, one.b)) for one in found.resistances}
    assert pairs == {frozenset(pair) for pair in ("aA", "bB", "cC", "dD")}
    assert {one.ohms for one in found.resistances} == {22.0}


def test_a_bussed_array_has_one_common_pin():
    found = network(
        "RN1 10k Device:R_Network04 1:common=COM 2:R1=a 3:R2=b 4:R3=c 5:R4=d"
    )
    pairs = {frozenset((one.a, one.b)) for one in found.resistances}
    assert pairs == {frozenset(("COM", end)) for end in "abcd"}


def test_a_potentiometer_meets_its_track_at_the_wiper():
    found = network("RV1 10k Device:R_Potentiometer 1:1=A 2:2=W 3:3=B")
    assert {frozenset((r.a, r.b)) for r in found.resistances} == {
        frozenset(("A", "W")),
        frozenset(("W", "B")),
    }
    assert all(r.ohms_low < 1.0 and r.ohms_high >= 10e3 for r in found.resistances)


def test_a_thermistor_spans_a_bench_not_an_oven():
    one = only("TH1 10k Device:Thermistor_NTC 1:=A 2:=B")
    # B = 3950 K: 19.9 k at 10, 5.3 k at 40 degrees (exp(B (1/T - 1/T0)), computed).
    assert one.ohms_low <= 5.3e3
    assert one.ohms_high >= 19.9e3
    assert one.assumed


@pytest.mark.parametrize(
    ("line", "most"),
    [
        ("L1 2.2uH Device:L 1:=A 2:=B", 2.0),
        ("L1 0.22uH Device:L 1:=A 2:=B", 1.0),
        ("FB1 600R@100MHz Device:FerriteBead 1:=A 2:=B", 1.0),
        ("F1 5A Device:Fuse 1:=A 2:=B", 0.2),
        ("JP1 - Jumper:SolderJumper_2_Bridged 1:=A 2:=B", 0.02),
        ("NT1 - Device:NetTie_2 1:=A 2:=B", 0.02),
    ],
)
def test_what_links_two_nets_is_a_small_resistance(line, most):
    one = only(line)
    assert 0 < one.ohms_low <= one.ohms <= one.ohms_high <= most


def test_a_larger_coil_may_have_more_wire():
    ohms = [
        only(f"L1 {value} Device:L 1:=A 2:=B").ohms_high
        for value in ("0.47uH", "4.7uH", "47uH", "470uH", "4.7mH")
    ]
    assert ohms == sorted(ohms)


def test_a_jumper_that_may_be_pulled_may_be_open():
    one = only("JP1 - Jumper:Jumper_2_Bridged fp:PinHeader_1x02 1:=A 2:=B")
    assert one.ohms_high == math.inf
    assert one.ohms_low < 0.1
    assert network("JP1 - Jumper:SolderJumper_2_Open 1:=A 2:=B").resistances == ()


def test_a_push_button_is_open_at_rest_and_a_slide_switch_unknown():
    assert network("SW1 - Switch:SW_Push 1:=A 2:=B").resistances == ()
    one = only("SW1 - Switch:SW_SPST 1:=A 2:=B")
    assert (one.ohms, one.ohms_high) == (math.inf, math.inf)
    assert one.ohms_low < 0.1


def test_a_relay_is_its_coil_and_the_contact_closed_at_rest():
    found = network("K1 - Relay:SANYOU A1:A1=c1 A2:A2=c2 11:11=com 12:12=nc 14:14=no")
    pairs = {frozenset((one.a, one.b)): one for one in found.resistances}
    # EN 50005: A1-A2 coil, 11-12 break, 11-14 make contact (from memory).
    assert set(pairs) == {frozenset(("c1", "c2")), frozenset(("com", "nc"))}
    assert pairs[frozenset(("c1", "c2"))].ohms > 10


def test_capacitors_connectors_and_crystals_are_no_path():
    found = network(
        """
        C1 100n Device:C 1:=A 2:=B
        J1 - Connector:Conn_01x02 1:=A 2:=B
        Y1 8MHz Device:Crystal 1:=A 2:=B
        TP1 - Connector:TestPoint 1:=A
        """
    )
    assert found.resistances == found.junctions == ()
    assert set(found.nodes) == {"A", "B"}


def test_an_electrolytic_leaks_highly_at_most():
    one = only("C1 470u Device:CP 1:=A 2:=B")
    assert one.assumed
    assert one.ohms_low >= 10e3


# Diodes ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "low", "high"),
    [
        ("D1 1N4148 Device:D 1:K=K 2:A=A", 0.4, 0.75),
        ("D1 SS34 Device:D_Schottky 1:K=K 2:A=A", 0.1, 0.45),
        ("D1 RED Device:LED 1:K=K 2:A=A", 1.4, 2.1),
        ("D1 SMBJ15A Diode:SMBJ15A 1:K=K 2:A=A", 0.3, 0.9),
    ],
)
def test_a_diode_conducts_one_way(line, low, high):
    found = network(line)
    (one,) = found.junctions
    assert (one.anode, one.cathode) == ("A", "K")
    assert low <= one.volts_low <= one.volts <= one.volts_high <= high


def test_a_zener_below_six_volts_breaks_down_within_reach_of_a_meter():
    found = network("D1 3V3 Device:D_Zener 1:K=K 2:A=A")
    back = next(j for j in found.junctions if j.sort == "breakdown")
    assert (back.anode, back.cathode) == ("K", "A")
    # Softly: a 3.3 V one has 1 mA well below 3.3 V (common practice).
    assert back.volts_low < 2.5 < back.volts_high
    assert len(network("D1 12V Device:D_Zener 1:K=K 2:A=A").junctions) == 1


def test_diodes_in_one_package():
    found = network("D1 BAV99 Device:D_Dual 1:=lo 2:=hi 3:=mid")
    assert ways(found) == {("lo", "mid"), ("mid", "hi")}
    found = network("D1 BAT54C Device:D_Schottky_Dual 1:A1=a 2:A2=b 3:K=k")
    assert ways(found) == {("a", "k"), ("b", "k")}
    found = network("D1 - Device:D_Bridge_+-AA 1:+=P 2:-=N 3:~=x 4:~=y")
    assert ways(found) == {("N", "x"), ("N", "y"), ("x", "P"), ("y", "P")}


# Transistors ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("symbol", "way"),
    [("Q_NMOS_GDS", ("S", "D")), ("Q_PMOS_GDS", ("D", "S"))],
)
def test_a_body_diode_follows_the_channel(symbol, way):
    found = network(f"Q1 - Device:{symbol} 1:G=G 2:D=D 3:S=S")
    assert ways(found) == {way}
    assert found.resistances == ()


def test_both_halves_of_a_dual_have_a_body_diode():
    found = network(
        "Q1 - Device:Q_Dual_NMOS_S1G1S2G2D2D2D1D1 1:S1=s1 2:G1=g1 3:S2=s2 4:G2=g2 "
        "5:D2=d2 6:D2=d2 7:D1=d1 8:D1=d1"
    )
    assert ways(found) == {("s1", "d1"), ("s2", "d2")}


def test_bipolar_junctions_follow_the_polarity():
    assert ways(network("Q1 - Device:Q_NPN_BEC 1:B=b 2:E=e 3:C=c")) == {
        ("b", "e"),
        ("b", "c"),
    }
    assert ways(network("Q1 - Device:Q_PNP_BEC 1:B=b 2:E=e 3:C=c")) == {
        ("e", "b"),
        ("c", "b"),
    }


def test_an_igbt_has_a_diode_only_if_somebody_says_so():
    plain = "Q1 - Device:Q_NIGBT_GCE 1:G=g 2:C=c 3:E=e"
    assert network(plain).junctions == ()


# States ---------------------------------------------------------------------------

DIVIDER = """
R1 10k Device:R 1:=VIN 2:=MID
R2 10k Device:R 1:=MID 2:=GND
R3 1k Device:R 1:=MID 2:=GND dnp
"""


def test_a_part_that_is_not_fitted_gives_nothing_until_somebody_fits_it():
    one = circuit(DIVIDER)
    assert {r.ref for r in build_network(one).resistances} == {"R1", "R2"}
    fitted = build_network(one, BoardState().fit(["R3"]))
    assert {r.ref for r in fitted.resistances} == {"R1", "R2", "R3"}


def test_a_lifted_part_leaves_its_lands_and_takes_its_faults_along():
    one = circuit(DIVIDER)
    fault = Resistance("R2", "MID", "GND", 1.0, 1.0, 1.0)
    state = BoardState().break_(fault).lift(["R2"])
    found = build_network(one, state)
    assert {r.ref for r in found.resistances} == {"R1"}
    assert set(found.nodes) == {"VIN", "MID", "GND"}
    back = build_network(one, state.fit(["R2"], new=False))
    assert fault in back.resistances
    assert fault not in build_network(one, state.fit(["R2"])).resistances


def test_a_network_without_a_part_equals_a_board_without_it():
    one = circuit(DIVIDER)
    changed = build_network(one).changed(without=["R2"])
    lifted = build_network(one, BoardState().lift(["R2"]))
    assert changed.resistances == lifted.resistances


def test_a_part_in_the_hand_is_alone_between_its_own_pins():
    one = circuit(
        DIVIDER + "Q1 - Device:Q_NMOS_GDS 1:G=MID 2:D=GND 3:S=GND\n"
        "R9 5R Device:R 1:=MID 2:=GND"
    )
    scene = board_scene(one)
    # On the board drain and source are one net; in the hand they are not.
    assert ways(build_network(one), "Q1") == set()
    hand = in_hand(scene, "Q1")
    assert ways(hand) == {("Q1.3", "Q1.2")}
    assert set(hand.nodes) == {"Q1.1", "Q1.2", "Q1.3"}
    assert all(isinstance(e, Junction) for e in hand.junctions)
    with pytest.raises(KeyError):
        in_hand(scene, "Q77")
