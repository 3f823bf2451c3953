"""Pass transistors, linear regulators, integrated converters, charge pumps.

Small boards with answers read off by hand.  Load switches and back-to-back pairs
as in Integrated Load Switches versus Discrete MOSFETs (TI SLVA716) and Reverse
Current Protection in Load Switches (TI SLVA730); reverse-polarity transistors as
in Reverse Current/Battery Protection Circuits (TI SLVA139); regulators and
converters as every maker's data sheet draws them.
"""

import pytest
from _stage_tables import chains, circuit_of, only_stage, stages_of

from ohmtrail.importers import load
from ohmtrail.importers.pin_table.blank import blank_table
from ohmtrail.netanalysis.circuit import STAGE_KINDS
from ohmtrail.netanalysis.recognise import recognise

IN = """
J1 connector DC: VIN GND
C1 capacitor 22u: VIN GND
"""
MCU = """
U9 chip MCU: VDD=+3V3 GND=GND PA0=IO PA1=X PA2=Y PA3=Z
C9 capacitor 1u: +3V3 GND
"""


def test_p_channel_load_switch_with_npn():
    stage = only_stage(
        IN
        + MCU
        + """
Q1 pmos FET: G=GATE S=VIN D=VSW
R1 resistor 100k: GATE VIN
R2 resistor 10k: GATE COL
Q2 npn SMALL: B=BASE C=COL E=GND
R3 resistor 4k7: IO BASE
R4 resistor 47k: BASE GND
C2 capacitor 10u: VSW GND
J2 connector FAN: VSW GND
"""
    )
    assert stage.kind == "load switch"
    assert (stage.input, stage.output) == ("VIN", "VSW")
    assert (stage.controller, stage.driver) == ("U9", "Q2")
    assert stage.high_side == ("Q1",)
    assert chains(stage) == {"Q1": ("Q2.2", ("R2",), (), ("R1",))}


def test_load_switch_driven_by_a_pin():
    stage = only_stage(
        MCU
        + """
J1 connector DC: +3V3 GND
Q1 pmos FET: G=GATE S=+3V3 D=3V3_SD
R1 resistor 10k: GATE +3V3
R2 resistor 100R: IO GATE
C2 capacitor 10u: 3V3_SD GND
U2 chip CARD: VDD=3V3_SD GND=GND A=A B=B
"""
    )
    assert stage.kind == "load switch"
    assert (stage.input, stage.output) == ("+3V3", "3V3_SD")
    assert chains(stage) == {"Q1": ("U9.3", ("R2",), (), ("R1",))}
    assert stage.driver == stage.controller == "U9"


def test_n_channel_load_switch_with_charge_pump_driver():
    stage = only_stage(
        IN
        + """
U1 chip HOTSWAP: VCC=VIN GND=GND GATE=DRV SENSE=SNS OUT=VOUT EN=EN
R5 resistor 2m: VIN SNS
Q1 nmos FET: G=GATE D=SNS S=VOUT
R1 resistor 10R: DRV GATE
C3 capacitor 10n: GATE GND
C2 capacitor 100u: VOUT GND
J2 connector OUT: VOUT GND
"""
    )
    assert stage.kind == "load switch"
    assert (stage.input, stage.input_rail) == ("SNS", "VIN")
    assert stage.output == "VOUT"
    assert stage.current_sense == ("R5",)
    assert chains(stage) == {"Q1": ("U1.3", ("R1",), (), ())}


@pytest.mark.parametrize("common", ["source", "drain"])
def test_back_to_back_pair(common):
    first, second = ("S=MID D=VIN", "S=MID D=VMAIN")
    if common == "drain":
        first, second = ("S=VIN D=MID", "S=VMAIN D=MID")
    text = (
        IN
        + f"""
U1 chip PASSCTRL: VIN=VIN GND=GND GATE=DRV VOUT=VMAIN EN=EN
Q1 nmos FET: G=G1 {first}
Q2 nmos FET: G=G2 {second}
R1 resistor 10R: DRV G1
R2 resistor 10R: DRV G2
C2 capacitor 100u: VMAIN GND
U2 chip LOAD: VDD=VMAIN GND=GND A=A B=B
"""
    )
    if common == "source":
        text += "R3 resistor 100k: DRV MID\n"
    stage = only_stage(text)
    assert stage.kind == "back-to-back pass"
    assert (stage.input, stage.output) == ("VIN", "VMAIN")
    assert stage.high_side == ("Q1", "Q2")
    bleed = ("R3",) if common == "source" else ()
    assert chains(stage) == {
        "Q1": ("U1.3", ("R1",), (), bleed),
        "Q2": ("U1.3", ("R2",), (), bleed),
    }


def test_back_to_back_p_channel_in_one_package():
    stage = only_stage(
        IN
        + MCU
        + """
Q1 pmos DUAL: G1=GATE S1=MID D1=VIN G2=GATE S2=MID D2=VMAIN
R1 resistor 100k: GATE MID
Q2 nmos SMALL: G=IO D=COL S=GND
R2 resistor 10k: GATE COL
C2 capacitor 100u: VMAIN GND
J2 connector OUT: VMAIN GND
"""
    )
    assert stage.kind == "back-to-back pass"
    assert stage.high_side == ("Q1",)
    assert [
        (c.gate, c.driver_pin, c.series, c.pull_down) for c in stage.gate_chains
    ] == [
        ("Q1.1", "Q2.2", ("R2",), ("R1",)),
        ("Q1.4", "Q2.2", ("R2",), ("R1",)),
    ]
    assert (stage.driver, stage.controller) == ("Q2", "U9")


def test_reverse_polarity_transistor():
    stage = only_stage("""
J1 connector DC: VIN GND
Q1 pmos FET: G=GATE D=VIN S=VPROT
R1 resistor 100k: GATE GND
D1 zener 12V: K=VPROT A=GATE
C1 capacitor 22u: VPROT GND
U2 chip LOAD: VDD=VPROT GND=GND A=A B=B
""")
    assert stage.kind == "ideal diode"
    assert (stage.input, stage.output) == ("VIN", "VPROT")
    assert stage.high_side == ("Q1",)


def test_ideal_diode_with_controller():
    stage = only_stage(
        IN
        + """
U1 chip IDEALDIODE: ANODE=VIN GATE=GATE CATHODE=VOUT GND=GND EN=VIN VCAP=CAP
C3 capacitor 100n: CAP VIN
Q1 nmos FET: G=GATE S=VIN D=VOUT
C2 capacitor 100u: VOUT GND
J2 connector OUT: VOUT GND
"""
    )
    assert stage.kind == "ideal diode"
    assert (stage.input, stage.output) == ("VIN", "VOUT")
    assert chains(stage) == {"Q1": ("U1.2", (), (), ())}
    assert stage.driver == "U1"


def test_level_shifters_and_led_switches_are_no_stages():
    """Bidirectional level shifting as in NXP AN10441; open-drain switches."""
    assert (
        stages_of("""
U1 chip MCU: VDD=+3V3 GND=GND SDA=SDA SCL=SCL LED=LED PG=PG
U2 chip SENSOR: VDD=+5V GND=GND SDA=SDA5 SCL=SCL5 A0=GND
J1 connector P: +3V3 +5V GND
C1 capacitor 1u: +3V3 GND
C2 capacitor 1u: +5V GND
Q1 nmos SMALL: G=+3V3 S=SDA D=SDA5
Q2 nmos SMALL: G=+3V3 S=SCL D=SCL5
R1 resistor 4k7: SDA +3V3
R2 resistor 4k7: SDA5 +5V
R3 resistor 4k7: SCL +3V3
R4 resistor 4k7: SCL5 +5V
Q3 nmos SMALL: G=LED S=GND D=LEDK
R5 resistor 1k: LEDK LEDA
D1 led RED: K=LEDA A=+5V
Q4 npn SMALL: B=PG C=RST E=GND
R6 resistor 10k: RST +3V3
""")
        == []
    )


def test_adjustable_and_fixed_linear_regulators():
    stages = stages_of(
        IN
        + """
U1 chip LM317: ADJ=ADJ VOUT=+9V VIN=VIN
R1 resistor 240R: +9V ADJ
R2 resistor 1k5: ADJ GND
C2 capacitor 10u: +9V GND
U2 chip LDO-33: VIN=+9V GND=GND EN=+9V NC=- VOUT=+3V3
C3 capacitor 1u: +9V GND
C4 capacitor 1u: +3V3 GND
U3 chip LOAD: VDD=+3V3 GND=GND A=A B=B
"""
    )
    assert [(s.kind, s.controller, s.input, s.output) for s in stages] == [
        ("linear regulator", "U1", "VIN", "+9V"),
        ("linear regulator", "U2", "+9V", "+3V3"),
    ]
    assert all(s.high_side == () and s.driver == s.controller for s in stages)


def test_zener_follower():
    stage = only_stage(
        IN
        + """
Q1 npn POWER: B=BASE C=VIN E=+12V
R1 resistor 1k: VIN BASE
D1 zener 12V: K=BASE A=GND
C2 capacitor 10u: +12V GND
U3 chip LOAD: VDD=+12V GND=GND A=A B=B
"""
    )
    assert stage.kind == "linear regulator"
    assert stage.high_side == ("Q1",)
    assert (stage.input, stage.output) == ("VIN", "+12V")


def test_load_switch_chip_with_three_channels():
    stages = stages_of("""
J1 connector DC: +5V GND
C1 capacitor 22u: +5V GND
U1 chip USBSWITCH: GND=GND IN=+5V EN1=E1 EN2=E2 EN3=E3 OC1=O1 OC2=O2 OC3=O3 OUT1=USB1
+ OUT2=USB2 OUT3=USB3
C2 capacitor 100u: USB1 GND
C3 capacitor 100u: USB2 GND
C4 capacitor 100u: USB3 GND
J2 connector USB: USB1 GND
J3 connector USB: USB2 GND
J4 connector USB: USB3 GND
""")
    assert [(s.kind, s.input, s.output) for s in stages] == [
        ("load switch", "+5V", f"USB{n}") for n in (1, 2, 3)
    ]
    assert {s.controller for s in stages} == {"U1"}


BUCK = (
    IN
    + """
U1 chip BUCK: VIN=VIN GND=GND EN=VIN SW=SW BOOT=BST FB=FB
L1 inductor 10u: SW +5V
C2 capacitor 22u: +5V GND
R1 resistor 52k: +5V FB
R2 resistor 10k: FB GND
J2 connector OUT: +5V GND
"""
)


def test_integrated_buck_with_bootstrap_resistor():
    stage = only_stage(BUCK + "C3 capacitor 100n: BR SW\nR3 resistor 10R: BST BR\n")
    assert stage.kind == "integrated buck"
    assert (stage.input, stage.output) == ("VIN", "+5V")
    assert stage.controller == "U1"
    assert stage.high_side == stage.low_side == ()
    assert set(stage.bootstrap) == {"C3", "R3"}
    assert stage.inductors == ("L1",)
    assert (stage.input_caps, stage.output_caps) == (("C1",), ("C2",))


def test_integrated_buck_with_diode():
    stage = only_stage(
        BUCK + "C3 capacitor 100n: BST SW\nD1 schottky SS34: K=SW A=GND\n"
    )
    assert stage.kind == "integrated buck"
    assert stage.low_side == ("D1",)
    assert stage.bootstrap == ("C3",)


@pytest.mark.parametrize("diode", [True, False])
def test_integrated_boost(diode):
    """With an outer rectifier, and synchronous with an output pin."""
    rest = "D1 schottky SS34: A=SW K=+5V\n" if diode else ""
    pin = "" if diode else " VOUT=+5V"
    stage = only_stage(f"""
BT1 battery CELL: VBAT GND
C1 capacitor 22u: VBAT GND
U1 chip BOOST: VIN=VBAT GND=GND EN=VBAT SW=SW FB=FB{pin}
L1 inductor 2u2: VBAT SW
{rest}C2 capacitor 22u: +5V GND
R1 resistor 52k: +5V FB
R2 resistor 10k: FB GND
J2 connector OUT: +5V GND
""")
    assert stage.kind == "integrated boost"
    assert (stage.input, stage.output) == ("VBAT", "+5V")
    assert stage.high_side == (("D1",) if diode else ())
    assert stage.low_side == ()


def test_integrated_buck_boost():
    stage = only_stage("""
BT1 battery CELL: VBAT GND
C1 capacitor 22u: VBAT GND
U1 chip BUCKBOOST: VIN=VBAT GND=GND EN=VBAT L1=LA L2=LB VOUT=+3V3 FB=FB
L1 inductor 1u5: LA LB
C2 capacitor 22u: +3V3 GND
R1 resistor 560k: +3V3 FB
R2 resistor 100k: FB GND
U2 chip LOAD: VDD=+3V3 GND=GND A=A B=B
""")
    assert stage.kind == "integrated buck-boost"
    assert (stage.input, stage.output) == ("VBAT", "+3V3")
    assert set(stage.switch_nodes) == {"LA", "LB"}
    assert stage.inductors == ("L1",)


def test_integrated_inverting_and_sepic():
    inverting = only_stage(
        IN
        + """
U1 chip BUCK: VIN=VIN GND=-5V SW=SW BOOT=BST FB=FB
C3 capacitor 100n: BST SW
L1 inductor 10u: SW GND
D1 schottky SS34: K=SW A=-5V
C2 capacitor 22u: GND -5V
R1 resistor 52k: GND FB
R2 resistor 10k: FB -5V
J2 connector OUT: -5V GND
"""
    )
    assert inverting.kind == "integrated buck-boost"
    assert (inverting.input, inverting.output) == ("VIN", "-5V")
    sepic = only_stage(
        IN
        + """
U1 chip BOOST: VIN=VIN GND=GND SW=SW FB=FB
L1 inductor 10u: VIN SW
C3 capacitor 4u7: SW SW2
L2 inductor 10u: SW2 GND
D1 schottky SS34: A=SW2 K=VOUT
C2 capacitor 22u: VOUT GND
R1 resistor 52k: VOUT FB
R2 resistor 10k: FB GND
J2 connector OUT: VOUT GND
"""
    )
    assert sepic.kind == "integrated buck-boost"
    assert (sepic.input, sepic.output) == ("VIN", "VOUT")
    assert set(sepic.inductors) == {"L1", "L2"}


def test_power_manager_with_two_bucks_and_a_regulator():
    stages = stages_of(
        IN
        + """
U1 chip PMIC: VIN1=VIN GND=GND LX1=LX1 FB1=+1V8 VIN2=VIN LX2=LX2 FB2=+1V2 VINLDO=+1V8
+ VLDO=+1V0 EN=EN SDA=SDA SCL=SCL
L1 inductor 1u: LX1 +1V8
C2 capacitor 22u: +1V8 GND
L2 inductor 1u: LX2 +1V2
C3 capacitor 22u: +1V2 GND
C4 capacitor 4u7: +1V0 GND
U2 chip SOC: VDD=+1V8 CORE=+1V2 GND=GND VDDA=+1V0
"""
    )
    bucks = [s for s in stages if s.kind == "integrated buck"]
    assert [(s.switch_nodes, s.input, s.output) for s in bucks] == [
        (("LX1",), "VIN", "+1V8"),
        (("LX2",), "VIN", "+1V2"),
    ]


def test_charge_pump_inverter():
    stage = only_stage("""
J1 connector DC: +5V GND
C1 capacitor 10u: +5V GND
U1 chip PUMP: VIN=+5V CAP+=CP CAP-=CN GND=GND VOUT=-5V
C2 capacitor 10u: CP CN
C3 capacitor 10u: GND -5V
J2 connector OUT: -5V GND
""")
    assert stage.kind == "charge pump"
    assert (stage.input, stage.output) == ("+5V", "-5V")
    assert set(stage.switch_nodes) == {"CP", "CN"}


def test_roles_of_a_stage_are_told_with_their_reason():
    stage = circuit_of(BUCK).stages[0]
    assert stage.id == "integrated buck at SW"
    assert any("SW" in reason for reason in stage.because)


@pytest.mark.parametrize("kind", ["pmos", "nmos"])
def test_two_load_switches_on_one_supply_are_no_pair(kind):
    """They share a source (P-channel) or a drain (N-channel), and yet nothing else."""
    text = IN + MCU
    near, far = ("S", "D") if kind == "pmos" else ("D", "S")
    for n in (1, 2):
        text += f"""
Q{n} {kind} FET: G=G{n} {near}=VIN {far}=OUT{n}
C1{n} capacitor 10u: OUT{n} GND
J1{n} connector FAN: OUT{n} GND
"""
        if kind == "pmos":
            text += f"R1{n} resistor 100k: G{n} VIN\n"
            text += f"Q1{n} nmos SMALL: G=EN{n} D=G{n} S=GND\n"
    if kind == "nmos":
        text += "U1 chip DUALDRIVER: VCC=VIN GND=GND GATE1=G1 GATE2=G2 IN1=X IN2=Y\n"
    stages = stages_of(text)
    assert [(s.kind, s.input, s.output) for s in stages] == [
        ("load switch", "VIN", "OUT1"),
        ("load switch", "VIN", "OUT2"),
    ]


@pytest.mark.parametrize("phases", [1, 2])
@pytest.mark.parametrize("kind", STAGE_KINDS)
def test_blanks_are_recognised_as_what_they_are_for(kind, phases, tmp_path):
    """A stage traced into the table that ohmtrail writes is that stage again."""
    path = tmp_path / "blank.csv"
    path.write_text(blank_table(kind, phases), encoding="utf-8")
    stages = recognise(load(path)).stages
    assert {stage.kind for stage in stages} == {kind}
    assert len(stages) >= phases


def test_battery_protection_in_the_negative_line():
    """Common drain, one source at the cell, one at the port (maker's usual circuit)."""
    stage = only_stage("""
BT1 battery CELL: B+ B-
J1 connector PACK: B+ P-
U1 chip PROTECT: OD=OD CS=CSX OC=OC TD=TD VCC=VCCX GND=B-
R1 resistor 100R: B+ VCCX
C1 capacitor 100n: VCCX B-
R2 resistor 1k: CSX P-
Q1 nmos A: G=OD S=B- D=MID
Q2 nmos A: G=OC S=P- D=MID
""")
    assert stage.kind == "back-to-back pass"
    assert set(stage.low_side) == {"Q1", "Q2"}
    assert stage.high_side == ()
    assert {c.switch: c.driver_pin for c in stage.gate_chains} == {
        "Q1": "U1.1",
        "Q2": "U1.3",
    }
    assert stage.controller == "U1"


def test_lamp_switched_in_its_return():
    stage = only_stage(
        IN
        + MCU
        + """
Q1 nmos X: G=IO D=LAMP S=GND
J2 connector LAMP: VIN LAMP
R1 resistor 10k: IO GND
"""
    )
    assert (stage.kind, stage.low_side) == ("load switch", ("Q1",))
    assert chains(stage) == {"Q1": ("U9.3", (), (), ("R1",))}


def test_reference_is_no_regulator():
    assert (
        stages_of(
            IN
            + """
U1 chip REF3030: VIN=VIN GND=GND VOUT=VREF
C2 capacitor 1u: VREF GND
U4 chip ADC: VDD=VIN GND=GND VREF=VREF A=O
"""
        )
        == []
    )


def test_two_wire_ideal_diode_controller():
    """Gate from IN, far side on SENSE, P-channel with its drain at the input."""
    stage = only_stage(
        IN
        + """
U1 chip ORING: VIN=VIN GND=GND CTL=GND STAT=ST GATE=GATE SENSE=VOUT
Q1 pmos X: G=GATE D=VIN S=VOUT
C2 capacitor 100u: VOUT GND
J2 connector OUT: VOUT GND
"""
    )
    assert (stage.kind, stage.input, stage.output) == ("ideal diode", "VIN", "VOUT")


def test_shunt_regulator_on_a_follower():
    """TL431 holding the base of a pass transistor (its data sheet's application)."""
    stage = only_stage(
        IN
        + """
Q1 npn P: B=BB C=VIN E=VOUT
R1 resistor 1k: VIN BB
U1 chip TL431: K=BB REF=RF A=GND
R2 resistor 10k: VOUT RF
R3 resistor 10k: RF GND
C2 capacitor 100u: VOUT GND
J2 connector OUT: VOUT GND
"""
    )
    assert stage.kind == "linear regulator"
    assert stage.high_side == ("Q1",)
    assert (stage.input, stage.output) == ("VIN", "VOUT")


def test_port_switch_without_capacitors():
    stage = only_stage("""
J1 connector DC: +5V GND
C1 capacitor 10u: +5V GND
U1 chip PORTSWITCH: GND=GND IN=+5V EN=EN FLG=FL OUT=USBV
J2 connector USB: USBV DM DP GND
""")
    assert (stage.kind, stage.output) == ("load switch", "USBV")
