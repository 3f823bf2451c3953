"""The limits of injection: what may be reached, what counts, what is said.

Never above the lowest nominal voltage of all rails that the short may connect to is
common practice, and so is all that is called reach here, where no source is named.
"""

import math

import pytest
from _oracles import designs
from _small_boards import board

from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.inject import AMPS_START, heat_of, inject
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.recognise import recognise

LOADS = """
U90 LOGIC - VDD=+12V VSS=GND
C90 10u Device:C 1:=+12V 2:=GND
J90 - Connector:Barrel_Jack 1:=+12V 2:=GND
U91 MCU - VDD=+3V3 VSS=GND PA0=IO0 PA1=IO1
C91 10u Device:C 1:=+3V3 2:=GND
"""


def asked(text, net, ohms=None, **stated):
    return inject(recognise(board(text), stated), net, ohms)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return recognise(load(write_demo(tmp_path_factory.mktemp("demo"))[0]), {})


def test_with_a_high_side_of_the_core_in_doubt_the_core_sets_the_limit(demo):
    # The board's own description: VMAIN 19 V, core 1.0 V, high sides Q401 .. Q602.
    answer = inject(demo, "VMAIN")
    assert answer.volts_max == 1.0
    assert answer.set_by.net == "VCORE_1V0"
    high_side, coil = answer.set_by.via
    assert high_side in {"Q401", "Q402", "Q501", "Q502", "Q601", "Q602"}
    assert coil in {"L401", "L501", "L601"}
    assert high_side in answer.why
    assert "VCORE_1V0" in answer.why
    assert answer.unknown == ()


def test_a_converter_up_from_a_known_rail_is_no_lower_than_it(demo):
    # VLED is made by a boost converter from +5V through L902 and D902: current flows
    # that way before the converter starts.
    answer = inject(demo, "VMAIN")
    assert "VLED" in answer.rails_reached
    assert any("VLED" in text and "D902" in text for text in answer.cautions)


def test_the_checklist_says_the_same_limit(demo):
    for section in make_checklist(demo).sections:
        limit = inject(demo, section.rail).volts_max
        steps = [step for step in section.steps if step.row == "injection"]
        assert limit is not None
        for step in steps:
            assert f"never above {limit:g} V" in step.title
            assert "0.5 A" in step.why
    assert any(
        step.row == "injection"
        for step in make_checklist(demo, rail="VMAIN").sections[0].steps
    )


@pytest.mark.parametrize(
    "joining",
    [
        # A shorted transistor either way round; its body diode.
        "Q1 NFET Device:Q_NMOS_GDS G=G1 D=+12V S=+3V3",
        "Q1 PFET Device:Q_PMOS_GSD G=G1 S=+12V D=+3V3",
        # Drain to gate, and a gate resistor: the driver's pin, its clamp, its supply.
        "Q1 NFET Device:Q_NMOS_GDS G=G1 D=+12V S=GND\nR1 10R Device:R 1:=G1 2:=IO0",
        "D1 TVS Device:D_TVS A1=+12V A2=+3V3",
        "D1 5V6 Device:D_Zener K=+12V A=+3V3",
        "D1 - Device:LED K=+3V3 A=+12V",
        # A chip with pins on both, no regulator.
        "U1 SHIFTER - VCCA=+3V3 VCCB=+12V GND=GND A1=IO1 B1=X1",
        "U1 IDEAL_DIODE - A=+12V K=+3V3",
        "U1 MONITOR - VS=+3V3 GND=GND IN+=+12V IN-=N1",
        "K1 RELAY Relay:DIPxx-1Axx 1:=+12V 2:=+3V3 6:=N1 8:=N2",
        "T1 FLYBACK Device:Transformer 1:=+12V 2:=N1 3:=+3V3 4:=N2 5:=N3 6:=N4",
        "JP1 - Jumper:SolderJumper_2_Open 1:=+12V 2:=+3V3",
        "JP1 - Jumper:SolderJumper_3_Bridged12 1:=N1 2:=+12V 3:=+3V3",
        "R1 22R Device:R 1:=+12V 2:=+3V3",
        "RT1 NTC Device:Thermistor_NTC 1:=+12V 2:=+3V3",
        "C1 1u Device:C 1:=+12V 2:=+3V3",
        # A wire link or a switch on a cable.
        "J1 LINK Connector:Conn_01x02 1:=+12V 2:=+3V3",
        # Nothing is known of its pins.
        "Q1 X1 - 1:=N1 2:=+12V 3:=+3V3",
        "U1 X2 - 1:=+12V 2:=GND 3:=+3V3 4:=N1",
    ],
)
def test_what_leads_to_the_lower_rail(joining):
    answer = asked(LOADS + joining, "+12V")
    assert answer.volts_max == 3.3
    assert answer.set_by.net == "+3V3"
    assert answer.set_by.via
    assert {part for part in answer.set_by.via} <= {
        line.split()[0] for line in joining.splitlines()
    } | {"U91"}


def test_without_anything_between_them_the_rail_itself_sets_the_limit():
    assert asked(LOADS + "R1 10k Device:R 1:=+12V 2:=+3V3", "+12V").volts_max == 12.0


def test_a_net_that_only_supplies_a_chip_is_a_rail_of_unknown_voltage():
    text = LOADS + (
        "Q1 NFET Device:Q_NMOS_GDS G=G1 D=+12V S=N7\n"
        "U1 CPU - VDD=N7 VSS=GND EN=E1\nU2 RAM - VDD=N7 VSS=GND"
    )
    answer = asked(text, "+12V")
    assert answer.volts_max is None
    assert answer.set_by is None
    assert answer.unknown == ("N7",)
    assert "--nominal" in answer.missing[0]
    assert asked(text, "+12V", N7=0.9).volts_max == 0.9


def test_the_lower_of_name_and_statement_counts_and_the_reader_is_warned():
    answer = asked(LOADS, "+3V3", **{"+3V3": 5.0})
    assert answer.volts_max == 3.3
    assert answer.warnings[0][0] == "+3V3"
    assert "5 V" in answer.warnings[0][1]
    # Stating less than the name is believed too.
    assert asked(LOADS, "+3V3", **{"+3V3": 3.0}).volts_max == 3.0


def test_a_regulator_that_makes_less_than_the_rail_is_called_counts():
    # AMS1117-3.3: its part number is its voltage.
    text = LOADS + (
        "U1 AMS1117-3.3 Regulator_Linear:AMS1117-3.3 GND=GND VO=+5V VI=+12V\n"
        "C1 10u Device:C 1:=+5V 2:=GND\nU2 RAM - VDD=+5V VSS=GND"
    )
    answer = asked(text, "+12V")
    assert answer.volts_max == 3.3
    assert answer.set_by.net == "+5V"
    assert any("+5V" in net for net, _ in answer.warnings)


def test_a_name_that_tells_of_what_hangs_there_makes_no_voltage_known():
    # 5V_VIN and 3V3_VIN behind two beads of one input are one net at direct current:
    # the names speak of the supplies behind them.
    text = """
    J1 - Connector:Barrel_Jack 1:=VIN 2:=GND
    FB1 600R Device:FerriteBead 1:=VIN 2:=5V_VIN
    FB2 600R Device:FerriteBead 1:=VIN 2:=3V3_VIN
    C1 10u Device:C 1:=5V_VIN 2:=GND
    C2 10u Device:C 1:=3V3_VIN 2:=GND
    U1 BUCK - VIN=5V_VIN GND=GND SW=SWA FB=FBA BOOT=BTA
    L1 4u7 Device:L 1:=SWA 2:=+5V
    U2 BUCK - VIN=3V3_VIN GND=GND SW=SWB FB=FBB BOOT=BTB
    L2 4u7 Device:L 1:=SWB 2:=+3V3
    C3 22u Device:C 1:=+5V 2:=GND
    C4 22u Device:C 1:=+3V3 2:=GND
    """
    answer = asked(text, "+5V")
    assert answer.volts_max is None
    assert {"5V_VIN", "3V3_VIN"} <= set(answer.unknown)
    # Two voltages in one name: the lower one counts where one is known at all.
    assert asked(LOADS, "+12V", **{"+12V": 12.0}).volts_max == 12.0


CORE = """
U1 CORE_CTRL - VIN=+12V GND=GND SW=SW FB=FB VID0=V0 VID1=V1 BOOT=BT
C1 100n Device:C 1:=BT 2:=SW
L1 1u Device:L 1:=SW 2:=+1V1_CORE
C2 22u Device:C 1:=+1V1_CORE 2:=GND
R1 1k Device:R 1:=+1V1_CORE 2:=FB
U2 CPU - VDD=+1V1_CORE VSS=GND
"""


def test_a_core_that_sets_its_own_voltage_has_no_known_lowest():
    answer = asked(LOADS + CORE, "+12V")
    assert answer.volts_max is None
    assert answer.unknown == ("+1V1_CORE",)
    assert "VID0 of U1" in answer.missing[0]
    assert asked(LOADS + CORE, "+12V", **{"+1V1_CORE": 0.7}).volts_max == 0.7
    # Stated too high for its name.
    assert asked(LOADS + CORE, "+12V", **{"+1V1_CORE": 3.0}).volts_max == 1.1
    fixed = CORE.replace("VID0=V0 VID1=V1 ", "")
    assert asked(LOADS + fixed, "+12V").volts_max == 1.1


def test_a_trimmer_in_the_divider_leaves_the_voltage_open():
    fixed = CORE.replace("VID0=V0 VID1=V1 ", "")
    trimmed = fixed + "RV1 10k Device:R_Potentiometer 1:=FB 2:=FB 3:=GND\n"
    assert "trimmer RV1" in asked(LOADS + trimmed, "+12V").missing[0]


NEGATIVE = """
U1 PUMP - VIN=+12V GND=GND OUT=-12V C+=CP C-=CM
C1 10u Device:C 1:=-12V 2:=GND
U2 OPAMP - V+=+12V V-=-12V OUT=N1 IN+=N2 IN-=N3
U3 OPAMP - V+=+12V V-=-12V OUT=N4 IN+=N5 IN-=N6
"""


def test_no_voltage_is_right_for_rails_of_both_signs():
    answer = asked(LOADS + NEGATIVE, "+12V")
    assert answer.volts_max is None
    assert answer.unknown == ("-12V",)
    assert "other sign" in answer.missing[0]
    # Stating it again does not help; lifting what joins them does.
    assert asked(LOADS + NEGATIVE, "+12V", **{"-12V": -12.0}).volts_max is None


def test_a_switch_node_between_rails_of_both_signs_takes_none():
    text = LOADS + (
        "Q1 PFET Device:Q_PMOS_GSD G=G1 S=+12V D=SW\nL1 10u Device:L 1:=SW 2:=GND\n"
        "D1 SCHOTTKY Device:D_Schottky 1:K=SW 2:A=-5V\nC1 22u Device:C 1:=-5V 2:=GND\n"
        "U1 OPAMP - V-=-5V GND=GND OUT=N1"
    )
    assert "-5V" in asked(text, "SW").unknown


def test_a_negative_rail_takes_the_leads_the_other_way_round():
    answer = asked(
        "U1 OPAMP - V-=-5V GND=GND OUT=N1\nC1 10u Device:C 1:=-5V 2:=GND\n"
        "J1 - Connector:Conn_01x02 1:=-5V 2:=GND",
        "-5V",
    )
    assert (answer.plus, answer.minus, answer.volts_max) == ("GND", "-5V", 5.0)
    assert any("negative" in text for text in answer.cautions)


def test_what_hangs_outside_is_to_be_unplugged_and_links_not_fitted_are_named():
    text = LOADS + "R1 0R Device:R 1:=+12V 2:=+3V3 dnp"
    answer = asked(text, "+12V")
    assert answer.volts_max == 12.0
    assert any("Unplug" in text and "J90" in text for text in answer.cautions)
    assert any("R1" in text and "+3V3" in text for text in answer.cautions)


def test_the_cautions_every_injection_carries():
    words = " ".join(asked(LOADS, "+12V").cautions)
    for word in ("Eye protection", "before you connect", "0.1 V", "Mains"):
        assert word in words


def test_ground_or_a_board_without_one_is_refused():
    with pytest.raises(NotOnBoardError, match="is ground"):
        asked(LOADS, "GND")
    with pytest.raises(NotOnBoardError, match="no ground"):
        asked("R1 1k Device:R 1:=A 2:=B", "A")


# Ohm's law and Joule's law, worked out by hand.
@pytest.mark.parametrize(
    ("ohms", "volts_max", "limited_by", "amps", "watts", "watts_max"),
    [
        (0.5, 1.0, "current", 0.5, 0.125, 2.0),
        (0.1, 1.0, "current", 0.5, 0.025, 10.0),
        (4.0, 1.0, "volts", 0.25, 0.25, 0.25),
        (1000.0, 5.0, "volts", 0.005, 0.025, 0.025),
        (0.0, 1.0, "current", 0.5, 0.0, None),
    ],
)
def test_the_power_in_the_short(ohms, volts_max, limited_by, amps, watts, watts_max):
    heat = heat_of(ohms, volts_max)
    assert heat.limited_by == limited_by
    assert heat.amps == pytest.approx(amps)
    assert heat.watts == pytest.approx(watts)
    assert heat.volts <= volts_max
    assert heat.watts_max == (None if watts_max is None else pytest.approx(watts_max))
    if heat.amps_to_feel is not None:
        assert heat.amps_to_feel * ohms <= volts_max
        assert heat.amps_to_feel**2 * ohms == pytest.approx(0.5)


def test_an_open_reading_takes_no_power():
    heat = heat_of(math.inf, 5.0)
    assert (heat.amps, heat.watts) == (0.0, 0.0)
    # No current makes warm what takes none.
    assert heat.amps_to_feel is None


def test_the_start_current_spares_a_thin_trace():
    # IPC-2221, outer layer, 10 K: I = 0.048 * dT**0.44 * A**0.725, A in square mils;
    # 1 oz copper is 1.378 mil thick.  A trace of 5 mil is about the thinnest used.
    assert 0.048 * 10**0.44 * (5 * 1.378) ** 0.725 > AMPS_START


@pytest.mark.parametrize("design", designs("kicad6+", "kicad5"))
def test_stating_what_is_missing_gives_the_limit(design):
    # No answer is a dead end: what is listed as unknown is what is needed.
    bare = load(design.root)
    circuit = recognise(bare, {})
    rails = [rail.net for rail in circuit.rails if rail.net not in circuit.ground]
    for net in rails[:3]:
        answer, stated = inject(circuit, net), {}
        for _ in range(6):
            if answer.volts_max is not None:
                break
            stated |= dict.fromkeys(answer.unknown, 2.0)
            answer = inject(recognise(bare, stated), net)
        reversed_ones = [one for one in answer.reach.details if one.reversed]
        assert answer.volts_max is not None or reversed_ones
        if stated and answer.volts_max is not None:
            assert answer.volts_max <= 2.0
