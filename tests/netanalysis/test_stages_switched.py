"""Converters with discrete switches, on small boards with known answers.

The expected chains are read off the drawings by hand.  Topologies as in Erickson,
Maksimovic, Fundamentals of Power Electronics, 2nd ed., chapters 2, 5 and 6 (buck,
boost, inverting, SEPIC, flyback, bridges); gate networks as in Balogh, Design and
Application Guide for High Speed MOSFET Gate Drive Circuits (TI SLUP169): gate
resistor, turn-off diode, gate-to-source bleed, bootstrap, level shifting.
"""

import pytest
from _stage_tables import chains, only_stage, stages_of

PHASE = """
U{n}1 chip DRIVER: PWM=PWM{n} EN=EN VCC=+12V GND=GND BOOT=BST{n} UGATE=UG{n}
+ PHASE=SW{n} LGATE=LG{n}
Q{n}1 nmos FET: G=GH{n}A D=VIN S=SW{n}
Q{n}2 nmos FET: G=GH{n}B D=VIN S=SW{n}
Q{n}3 nmos FET: G=GL{n}A D=SW{n} S=GND
Q{n}4 nmos FET: G=GL{n}B D=SW{n} S=GND
R{n}1 resistor 2R2: UG{n} GH{n}A
R{n}2 resistor 2R2: UG{n} GH{n}B
R{n}3 resistor 1R: LG{n} GL{n}A
R{n}4 resistor 1R: LG{n} GL{n}B
R{n}5 resistor 10k: GH{n}A SW{n}
R{n}6 resistor 10k: GH{n}B SW{n}
R{n}7 resistor 10k: GL{n}A GND
R{n}8 resistor 10k: GL{n}B GND
C{n}1 capacitor 100n: BST{n} SW{n}
D{n}1 schottky BAT54: K=BST{n} A=+12V
L{n}1 inductor 150n: SW{n} VCORE
R{n}9 resistor 1R: SW{n} SNB{n}
C{n}2 capacitor 1n: SNB{n} GND
"""
CORE = (
    "".join(PHASE.format(n=n) for n in (1, 2, 3))
    + """
U1 chip CONTROLLER: PWM1=PWM1 PWM2=PWM2 PWM3=PWM3 VCC=+5V GND=GND FB=FB EN=EN
R1 resistor 1k: FB VCORE
C1 capacitor 22u: VIN GND
C2 capacitor 470u: VCORE GND
J1 connector POWER: VIN GND
J2 connector LOAD: VCORE GND
"""
)


def test_three_phases_with_own_gate_resistors():
    stages = stages_of(CORE)
    assert [s.kind for s in stages] == ["synchronous buck"] * 3
    for n, stage in enumerate(stages, start=1):
        assert stage.switch_nodes == (f"SW{n}",)
        assert (stage.controller, stage.driver) == ("U1", f"U{n}1")
        assert stage.high_side == (f"Q{n}1", f"Q{n}2")
        assert stage.low_side == (f"Q{n}3", f"Q{n}4")
        assert (stage.input, stage.output) == ("VIN", "VCORE")
        assert stage.inductors == (f"L{n}1",)
        assert set(stage.bootstrap) == {f"C{n}1", f"D{n}1"}
        assert set(stage.snubber) == {f"R{n}9", f"C{n}2"}
        assert chains(stage) == {
            f"Q{n}1": (f"U{n}1.6", (f"R{n}1",), (), (f"R{n}5",)),
            f"Q{n}2": (f"U{n}1.6", (f"R{n}2",), (), (f"R{n}6",)),
            f"Q{n}3": (f"U{n}1.8", (f"R{n}3",), (), (f"R{n}7",)),
            f"Q{n}4": (f"U{n}1.8", (f"R{n}4",), (), (f"R{n}8",)),
        }
        assert stage.missing == ()


def test_sense_resistor_behind_the_inductor_and_in_the_input():
    stage = only_stage("""
J1 connector DC: VIN GND
C5 capacitor 10u: VIN GND
R9 resistor 5m: VIN VSENSED
Q1 nmos FET: G=GH D=VSENSED S=SW
Q2 nmos FET: G=GL D=SW S=GND
U1 chip CTRL: VIN=VSENSED FB=FB HO=GH LO=GL SW=SW BOOT=BST GND=GND CSP=VL CSN=VOUT
C1 capacitor 100n: BST SW
L1 inductor 4u7: SW VL
R1 resistor 10m: VL VOUT
C2 capacitor 100u: VOUT GND
R2 resistor 10k: VOUT FB
R3 resistor 3k3: FB GND
J2 connector OUT: VOUT GND
""")
    assert stage.kind == "synchronous buck"
    assert (stage.input, stage.input_rail) == ("VSENSED", "VIN")
    assert (stage.output, stage.output_rail) == ("VL", "VOUT")
    assert set(stage.current_sense) == {"R1", "R9"}
    assert stage.controller == stage.driver == "U1"
    assert stage.input_caps == ("C5",)
    assert stage.output_caps == ("C2",)


def test_half_bridge_with_turn_off_diode_and_resistor():
    """Turn-on over 10 ohm, turn-off over diode and 2R2 beside it (SLUP169, 3.4)."""
    stage = only_stage("""
J1 connector BUS: HV GND
C1 capacitor 100u: HV GND
J2 connector MOTOR: PHA PHB PHC
U2 chip MCU: PA0=HIN PA1=LIN VDD=+3V3 GND=GND PA2=NC1 PA3=NC2
C9 capacitor 100n: +3V3 GND
U1 chip GATEDRIVER: HIN=HIN LIN=LIN VCC=+12V COM=GND VB=VB HO=HO VS=PHA LO=LO
Q1 nmos FET: G=GH D=HV S=PHA
Q2 nmos FET: G=GL D=PHA S=TOP
R1 resistor 10R: HO GH
D1 schottky BAT: A=GH K=M1
R2 resistor 2R2: M1 HO
R3 resistor 10R: LO GL
R4 resistor 2R2: GL M2
D2 schottky BAT: A=M2 K=LO
R5 resistor 10k: GH PHA
R6 resistor 10k: GL TOP
R7 resistor 1m: TOP GND
C2 capacitor 1u: VB PHA
D3 diode US1J: A=+12V K=VB
C3 capacitor 1u: HV TOP
""")
    assert stage.kind == "half bridge"
    assert (stage.input, stage.output) == ("HV", "PHA")
    assert (stage.controller, stage.driver) == ("U2", "U1")
    assert chains(stage) == {
        "Q1": ("U1.6", ("R1",), ("D1", "R2"), ("R5",)),
        "Q2": ("U1.8", ("R3",), ("R4", "D2"), ("R6",)),
    }
    assert stage.current_sense == ("R7",)
    assert set(stage.bootstrap) == {"C2", "D3"}
    assert "C3" in stage.input_caps
    assert stage.inductors == ()


def test_turn_off_transistor_at_the_gate():
    """PNP turn-off (SLUP169, 3.4): base at the driver, emitter at the gate."""
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip PWMCTRL: VCC=VIN GND=GND OUT=DRV FB=FB CS=CS COMP=COMP
L1 inductor 10u: VIN SW
Q1 nmos FET: G=GATE D=SW S=CS
R1 resistor 20m: CS GND
D1 diode FAST: A=DRV K=GATE
Q2 pnp SMALL: B=DRV C=CS E=GATE
R2 resistor 47k: GATE CS
D2 schottky SS34: A=SW K=VOUT
C2 capacitor 47u: VOUT GND
R3 resistor 10k: VOUT FB
R4 resistor 1k: FB GND
J2 connector OUT: VOUT GND
""")
    assert stage.kind == "boost"
    assert (stage.input, stage.output) == ("VIN", "VOUT")
    assert stage.low_side == ("Q1",)
    assert stage.high_side == ("D2",)
    assert chains(stage) == {"Q1": ("U1.3", ("D1",), ("Q2",), ("R2",))}
    assert stage.current_sense == ("R1",)


@pytest.mark.parametrize("outputs", ["OUTH=ON OUTL=OFF", "OUTL=OFF OUTH=ON"])
def test_driver_with_separate_on_and_off_outputs(outputs):
    stage = only_stage(f"""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip DRIVER: IN+=PWM IN-=GND VDD=+12V GND=GND {outputs}
U2 chip CONTROL: VCC=+12V GND=GND PWMOUT=PWM FB=FB RT=RT COMP=COMP
C3 capacitor 1u: +12V GND
L1 inductor 10u: VIN SW
Q1 nmos FET: G=GATE D=SW S=GND
R2 resistor 1R: OFF GATE
R1 resistor 4R7: ON GATE
R3 resistor 10k: GATE GND
D2 schottky SS34: A=SW K=VOUT
C2 capacitor 47u: VOUT GND
R4 resistor 10k: VOUT FB
R5 resistor 1k: FB GND
J2 connector OUT: VOUT GND
""")
    assert stage.kind == "boost"
    assert (stage.controller, stage.driver) == ("U2", "U1")
    pin = "U1.5" if outputs.startswith("OUTH") else "U1.6"
    assert chains(stage) == {"Q1": (pin, ("R1",), ("R2",), ("R3",))}


def test_discrete_driver_pair():
    """NPN and PNP followers between the controller and the gate (SLUP169, 3.3)."""
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip PWMCTRL: VCC=+12V GND=GND OUT=DRV FB=FB CS=CS
C3 capacitor 1u: +12V GND
R9 resistor 100R: DRV BASE
Q2 npn SMALL: B=BASE C=+12V E=PUSH
Q3 pnp SMALL: B=BASE C=GND E=PUSH
R1 resistor 4R7: PUSH GATE
R2 resistor 10k: GATE GND
L1 inductor 10u: VIN SW
Q1 nmos FET: G=GATE D=SW S=GND
D2 schottky SS34: A=SW K=VOUT
C2 capacitor 47u: VOUT GND
R4 resistor 10k: VOUT FB
R5 resistor 1k: FB GND
J2 connector OUT: VOUT GND
""")
    assert stage.kind == "boost"
    assert stage.controller == "U1"
    assert stage.driver in ("Q2", "Q3")
    assert chains(stage) == {"Q1": (f"{stage.driver}.3", ("R1",), (), ("R2",))}


def test_buck_with_p_channel_and_diode():
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip PCTRL: VIN=VIN GND=GND PGATE=DRV FB=FB ISEN=VIN
R1 resistor 4R7: DRV GATE
R2 resistor 100k: GATE VIN
Q1 pmos FET: G=GATE S=VIN D=SW
D1 schottky SS54: K=SW A=GND
L1 inductor 22u: SW +5V
C2 capacitor 100u: +5V GND
R4 resistor 10k: +5V FB
R5 resistor 3k3: FB GND
J2 connector OUT: +5V GND
""")
    assert stage.kind == "buck"
    assert stage.high_side == ("Q1",)
    assert stage.low_side == ("D1",)
    assert (stage.input, stage.output) == ("VIN", "+5V")
    assert chains(stage) == {"Q1": ("U1.3", ("R1",), (), ("R2",))}
    assert stage.controller == stage.driver == "U1"


def test_buck_with_pnp_switch():
    """MC34063 with an outer PNP (its data sheet, step-down with external switch)."""
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 100u: VIN GND
U1 chip MC34063: SWC=DRV SWE=GND TC=TC GND=GND CII=FB VCC=VIN IPK=IPK DRC=IPK
R1 resistor 220R: DRV BASE
R2 resistor 1k: BASE VIN
Q1 pnp POWER: B=BASE E=VIN C=SW
D1 schottky SB540: K=SW A=GND
L1 inductor 220u: SW +5V
C2 capacitor 470u: +5V GND
R3 resistor 3k6: +5V FB
R4 resistor 1k2: FB GND
J2 connector OUT: +5V GND
""")
    assert stage.kind == "buck"
    assert (stage.high_side, stage.low_side) == (("Q1",), ("D1",))
    assert chains(stage) == {"Q1": ("U1.1", ("R1",), (), ("R2",))}


def test_inverting_converter():
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip PCTRL: VIN=VIN GND=GND PGATE=GATE FB=FB
Q1 pmos FET: G=GATE S=VIN D=SW
L1 inductor 22u: SW GND
D1 schottky SS34: K=SW A=-12V
C2 capacitor 47u: GND -12V
R1 resistor 10k: FB -12V
J2 connector OUT: -12V GND
""")
    assert stage.kind == "buck-boost"
    assert (stage.input, stage.output) == ("VIN", "-12V")
    assert (stage.high_side, stage.low_side) == (("Q1",), ("D1",))
    assert stage.inductors == ("L1",)


def test_sepic():
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VIN=VIN GND=GND GATE=GATE FB=FB CS=CS
L1 inductor 10u: VIN SW
Q1 nmos FET: G=GATE D=SW S=CS
R1 resistor 20m: CS GND
C3 capacitor 4u7: SW SW2
L2 inductor 10u: SW2 GND
D1 schottky SS34: A=SW2 K=VOUT
C2 capacitor 47u: VOUT GND
R2 resistor 10k: VOUT FB
R3 resistor 1k: FB GND
J2 connector OUT: VOUT GND
""")
    assert stage.kind == "buck-boost"
    assert stage.switch_nodes == ("SW", "SW2")
    assert (stage.input, stage.output) == ("VIN", "VOUT")
    assert (stage.high_side, stage.low_side) == (("D1",), ("Q1",))
    assert set(stage.inductors) == {"L1", "L2"}


def test_four_switch_buck_boost():
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip BB: VIN=VIN GND=GND HDRV1=G1 LDRV1=G2 SW1=SW1 BOOT1=B1 HDRV2=G4 LDRV2=G3
+ SW2=SW2 BOOT2=B2 VOUT=VOUT FB=FB
Q1 nmos FET: G=G1 D=VIN S=SW1
Q2 nmos FET: G=G2 D=SW1 S=GND
Q3 nmos FET: G=G3 D=SW2 S=GND
Q4 nmos FET: G=G4 D=VOUT S=SW2
L1 inductor 4u7: SW1 SW2
C3 capacitor 100n: B1 SW1
C4 capacitor 100n: B2 SW2
C2 capacitor 47u: VOUT GND
R2 resistor 10k: VOUT FB
R3 resistor 1k: FB GND
J2 connector OUT: VOUT GND
""")
    assert stage.kind == "buck-boost"
    assert set(stage.switch_nodes) == {"SW1", "SW2"}
    assert (stage.input, stage.output) == ("VIN", "VOUT")
    assert set(stage.high_side) == {"Q1", "Q4"}
    assert set(stage.low_side) == {"Q2", "Q3"}
    assert stage.inductors == ("L1",)
    assert set(stage.bootstrap) == {"C3", "C4"}
    assert {c.switch: c.driver_pin for c in stage.gate_chains} == {
        "Q1": "U1.3",
        "Q2": "U1.4",
        "Q3": "U1.8",
        "Q4": "U1.7",
    }


def test_synchronous_boost():
    stage = only_stage("""
BT1 battery 2S: VBAT GND
C1 capacitor 22u: VBAT GND
U1 chip BOOST: VIN=VBAT GND=GND LO=GL HO=GH SW=SW BST=BST FB=FB VCC=VCC
L1 inductor 2u2: VBAT SW
Q1 nmos FET: G=GL D=SW S=GND
Q2 nmos FET: G=GH D=VOUT S=SW
C3 capacitor 100n: BST SW
C4 capacitor 1u: VCC GND
D1 schottky BAT54: A=VCC K=BST
C2 capacitor 100u: VOUT GND
R2 resistor 100k: VOUT FB
R3 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""")
    assert stage.kind == "synchronous boost"
    assert (stage.input, stage.output) == ("VBAT", "VOUT")
    assert (stage.high_side, stage.low_side) == (("Q2",), ("Q1",))
    assert set(stage.bootstrap) == {"C3", "D1"}


def test_full_bridge_on_a_transformer():
    stages = stages_of("""
J1 connector IN: VIN GND
C1 capacitor 100u: VIN GND
U1 chip FULLBRIDGE: INA=PA INB=PB VCC=+12V GND=GND HOA=G1 LOA=G2 HSA=SWA HBA=BA
+ HOB=G3 LOB=G4 HSB=SWB HBB=BB
U2 chip MCU: P1=PA P2=PB VDD=+3V3 GND=GND P3=N1 P4=N2
C6 capacitor 1u: +12V GND
C7 capacitor 1u: +3V3 GND
Q1 nmos FET: G=G1 D=VIN S=SWA
Q2 nmos FET: G=G2 D=SWA S=GND
Q3 nmos FET: G=G3 D=VIN S=SWB
Q4 nmos FET: G=G4 D=SWB S=GND
C3 capacitor 100n: BA SWA
C4 capacitor 100n: BB SWB
T1 transformer 1to1: SWA SWB S1 S2
""")
    assert [s.kind for s in stages] == ["full bridge leg"] * 2
    assert [s.high_side for s in stages] == [("Q1",), ("Q3",)]
    assert [s.low_side for s in stages] == [("Q2",), ("Q4",)]
    assert [s.bootstrap for s in stages] == [("C3",), ("C4",)]
    assert {(s.controller, s.driver) for s in stages} == {("U2", "U1")}


def test_flyback_with_snubber():
    stage = only_stage("""
J1 connector IN: HV GND
C1 capacitor 47u: HV GND
U1 chip FLYCTRL: VCC=AUX GND=GND GATE=DRV CS=CS FB=FB
C5 capacitor 22u: AUX GND
R1 resistor 10R: DRV GATE
R2 resistor 10k: GATE SRC
Q1 nmos FET: G=GATE D=DRAIN S=SRC
R3 resistor 100m: SRC GND
T1 transformer EE: PRI1=HV PRI2=DRAIN SEC1=SEC SEC2=GND2 AUX1=AX AUX2=GND
D1 diode FAST: A=DRAIN K=CLAMP
R4 resistor 100k: CLAMP HV
C4 capacitor 1n: CLAMP HV
D2 schottky SB: A=SEC K=VOUT
C2 capacitor 470u: VOUT GND2
D3 diode FAST: A=AX K=AUX
J2 connector OUT: VOUT GND2
""")
    assert stage.kind == "flyback"
    assert (stage.input, stage.output) == ("HV", "VOUT")
    assert stage.low_side == ("Q1",)
    assert stage.inductors == ("T1",)
    assert chains(stage) == {"Q1": ("U1.3", ("R1",), (), ("R2",))}
    assert stage.current_sense == ("R3",)
    assert set(stage.snubber) == {"D1", "R4", "C4"}


def test_both_switches_in_one_package():
    """Dual transistor with the middle joined inside (S1/D2), as makers sell them."""
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VIN=VIN GND=GND UGATE=GH LGATE=GL PHASE=SW BOOT=BST FB=FB
Q1 mosfet DUAL: G1=GH D1=VIN D1=VIN S1/D2=SW G2=GL S2=GND S2=GND
C3 capacitor 100n: BST SW
L1 inductor 1u: SW +1V8
C2 capacitor 100u: +1V8 GND
R2 resistor 10k: +1V8 FB
R3 resistor 10k: FB GND
""")
    assert stage.kind == "synchronous buck"
    assert stage.high_side == stage.low_side == ("Q1",)
    assert [(c.switch, c.gate, c.driver_pin) for c in stage.gate_chains] == [
        ("Q1", "Q1.1", "U1.3"),
        ("Q1", "Q1.5", "U1.4"),
    ]


def test_power_block():
    """Both switches in a power package whose pins a chip's table would name."""
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VDD=VIN GND=GND HDRV=GH LDRV=GL SW=SW BOOT=BST FB=FB
U2 chip BLOCK: VIN=VIN TG=GH TGR=SW VSW=SW BG=GL PGND=GND
C3 capacitor 100n: BST SW
L1 inductor 470n: SW +1V0
C2 capacitor 100u: +1V0 GND
R2 resistor 10k: +1V0 FB
R3 resistor 10k: FB GND
""")
    assert stage.kind == "synchronous buck"
    assert stage.high_side == stage.low_side == ("U2",)
    assert stage.controller == stage.driver == "U1"
    assert [(c.gate, c.driver_pin) for c in stage.gate_chains] == [
        ("U2.2", "U1.3"),
        ("U2.5", "U1.4"),
    ]


@pytest.mark.parametrize("n", [1, 2])
def test_smart_power_stage(n):
    """Driver and switches in one package, pulsed by a multiphase controller."""
    phases = "".join(
        f"""
U{k}0 chip DRMOS: VIN=VIN VCC=+5V PWM=PWM{k} BOOT=BST{k} PHASE=PH{k} SW=SW{k}
+ PGND=GND AGND=GND TMON=TM IMON=IM{k}
C{k}0 capacitor 100n: BST{k} PH{k}
L{k}0 inductor 150n: SW{k} VCORE
"""
        for k in range(1, n + 1)
    )
    stages = stages_of(
        phases
        + """
U1 chip MULTIPHASE: VCC=+5V GND=GND PWM1=PWM1 PWM2=PWM2 ISEN1=IM1 ISEN2=IM2 FB=FB
+ VSEN=VCORE
J1 connector IN: VIN GND
J2 connector AUX: +5V GND
C1 capacitor 22u: VIN GND
C3 capacitor 1u: +5V GND
C2 capacitor 470u: VCORE GND
R1 resistor 1k: FB VCORE
"""
    )
    assert [s.kind for s in stages] == ["synchronous buck"] * n
    for k, stage in enumerate(stages, start=1):
        assert stage.high_side == stage.low_side == (f"U{k}0",)
        assert (stage.controller, stage.driver) == ("U1", f"U{k}0")
        assert (stage.input, stage.output) == ("VIN", "VCORE")
        assert stage.bootstrap == (f"C{k}0",)


def test_half_recognised_stage_says_what_is_missing():
    """The low-side transistor was not traced: reported all the same."""
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VDD=VIN GND=GND HDRV=GH LDRV=GL SW=SW BOOT=BST FB=FB
Q1 nmos FET: G=GH D=VIN S=SW
C3 capacitor 100n: BST SW
L1 inductor 470n: SW +1V0
C2 capacitor 100u: +1V0 GND
R2 resistor 10k: +1V0 FB
""")
    assert stage.kind == "synchronous buck"
    assert stage.high_side == ("Q1",)
    assert stage.low_side == ()
    assert any("low-side" in word for word in stage.missing)


def test_relay_driver_is_no_boost():
    assert (
        stages_of("""
J1 connector IN: +12V GND
C1 capacitor 100u: +12V GND
K1 inductor COIL: +12V SW
Q1 nmos FET: G=GATE D=SW S=GND
D1 diode 1N4007: A=SW K=+12V
R1 resistor 100R: IO GATE
U1 chip MCU: VDD=+3V3 GND=GND PA0=IO PA1=X
C2 capacitor 1u: +3V3 GND
""")
        == []
    )


def test_half_recognised_with_transistors_of_unknown_pins():
    """Three nameless pins on a net each: which is the drain nobody can tell."""
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VDD=VIN GND=GND HDRV=GH SW=SW LDRV=GL BOOT=BST FB=FB
R1 resistor 2R2: GL G2
Q2 mosfet FET: G2 X Y
C3 capacitor 100n: BST SW
L1 inductor 470n: SW +1V0
C2 capacitor 100u: +1V0 GND
R2 resistor 10k: +1V0 FB
TP1 testpoint T: GH
TP2 testpoint T: X
TP3 testpoint T: Y
""")
    assert stage.kind == "synchronous buck"
    assert stage.low_side == ("Q2",)
    assert chains(stage) == {"Q2": ("U1.5", ("R1",), (), ())}
    assert "high-side switch" in stage.missing
    assert "drain and source of Q2" in stage.missing


def test_low_side_alone_of_a_synchronous_stage():
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VDD=VIN GND=GND HDRV=GH SW=SW LDRV=GL BOOT=BST FB=FB
Q2 nmos FET: G=GL D=SW S=GND
C3 capacitor 100n: BST SW
L1 inductor 470n: SW +1V0
C2 capacitor 100u: +1V0 GND
R2 resistor 10k: +1V0 FB
""")
    assert (stage.kind, stage.low_side) == ("synchronous buck", ("Q2",))
    assert "high-side switch" in stage.missing


def test_three_phase_inverter_of_igbts_with_one_shunt():
    """Diodes beside the IGBTs belong to them; the shunt is common to the legs."""
    text = """
J1 connector BUS: HV GND
C1 capacitor 470u: HV GND
R9 resistor 5m: NEG GND
U9 chip MCU: A=H1 B=L1 C=H2 D=L2 E=H3 F=L3 VDD=+3V3 GND=GND
C9 capacitor 1u: +3V3 GND
C8 capacitor 1u: +15V GND
J2 connector MOTOR: U V W
"""
    for n, phase in enumerate("UVW", start=1):
        text += f"""
U{n} chip DRIVER: VCC=+15V HIN=H{n} LIN=L{n} COM=GND LO=LO{n} VS={phase} HO=HO{n}
+ VB=VB{n}
Q{n}1 igbt X: G=GH{n} C=HV E={phase}
Q{n}2 igbt X: G=GL{n} C={phase} E=NEG
R{n}1 resistor 22R: HO{n} GH{n}
R{n}2 resistor 22R: LO{n} GL{n}
C{n}1 capacitor 10u: VB{n} {phase}
D{n}1 diode FAST: A=+15V K=VB{n}
D{n}2 diode FRED: K=HV A={phase}
D{n}3 diode FRED: K={phase} A=NEG
"""
    stages = stages_of(text)
    assert [(s.kind, s.output) for s in stages] == [
        ("half bridge", phase) for phase in "UVW"
    ]
    for n, stage in enumerate(stages, start=1):
        assert (stage.high_side, stage.low_side) == ((f"Q{n}1",), (f"Q{n}2",))
        assert (stage.controller, stage.driver) == ("U9", f"U{n}")
        assert stage.current_sense == ("R9",)
        assert set(stage.bootstrap) == {f"C{n}1", f"D{n}1"}
        assert chains(stage) == {
            f"Q{n}1": (f"U{n}.7", (f"R{n}1",), (), ()),
            f"Q{n}2": (f"U{n}.5", (f"R{n}2",), (), ()),
        }


def test_brushed_motor_between_two_legs():
    stages = stages_of("""
J1 connector DC: VIN GND
C1 capacitor 22u: VIN GND
U1 chip DRV: VM=VIN GND=GND IN1=I1 IN2=I2 GH1=G1 SH1=A GL1=G2 GH2=G3 SH2=B GL2=G4
Q1 nmos X: G=G1 D=VIN S=A
Q2 nmos X: G=G2 D=A S=GND
Q3 nmos X: G=G3 D=VIN S=B
Q4 nmos X: G=G4 D=B S=GND
J5 connector MOTOR: A B
U9 chip MCU: A=I1 B=I2 VDD=+3V3 GND=GND C=C D=D
C9 capacitor 1u: +3V3 GND
""")
    assert [(s.kind, s.high_side, s.low_side) for s in stages] == [
        ("full bridge leg", ("Q1",), ("Q2",)),
        ("full bridge leg", ("Q3",), ("Q4",)),
    ]
    assert {(s.controller, s.driver) for s in stages} == {("U9", "U1")}


def test_isolated_driver_with_floating_outputs():
    stage = only_stage("""
J1 connector DC: VIN GND
C1 capacitor 22u: VIN GND
U1 chip ISO: INA=IA INB=IB VCCI=+3V3 GND=GND VDDA=VA OUTA=OA VSSA=SW VDDB=+12V
+ OUTB=OB VSSB=GND
U9 chip DSP: A=IA B=IB C=X D=Y E=Z VDD=+3V3 GND=GND
C9 capacitor 1u: +3V3 GND
C8 capacitor 1u: +12V GND
J3 connector AUX: +12V GND
C3 capacitor 1u: VA SW
R5 resistor 2R2: +12V DX
D1 diode FAST: A=DX K=VA
Q1 nmos A: G=G1 D=VIN S=SW
Q2 nmos A: G=G2 D=SW S=GND
R1 resistor 5R: OA G1
R2 resistor 5R: OB G2
L1 inductor 20u: SW VOUT
C2 capacitor 10u: VOUT GND
J2 connector OUT: VOUT GND
""")
    assert stage.kind == "synchronous buck"
    assert (stage.controller, stage.driver) == ("U9", "U1")
    assert set(stage.bootstrap) == {"C3", "D1", "R5"}
    assert chains(stage) == {
        "Q1": ("U1.6", ("R1",), (), ()),
        "Q2": ("U1.9", ("R2",), (), ()),
    }


def test_diode_in_the_turn_on_path_is_no_turn_off_path():
    """22 ohm and a diode towards the gate, 4R7 both ways: off goes over 4R7 alone."""
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VIN=VIN GND=GND GATE=DRV FB=FB CS=CS
Q1 nmos A: G=G1 D=SW S=CS
R1 resistor 22R: DRV X1
D1 schottky S: A=X1 K=G1
R2 resistor 4R7: DRV G1
R4 resistor 100k: DRV CS
R9 resistor 10m: CS GND
L1 inductor 10u: VIN SW
D2 schottky S: A=SW K=VOUT
C2 capacitor 100u: VOUT GND
R3 resistor 10k: VOUT FB
J2 connector OUT: VOUT GND
""")
    assert chains(stage) == {"Q1": ("U1.3", ("R2",), (), ("R4",))}


def test_resistor_array_in_the_gates():
    """Four resistors in a package: pins 1-8, 2-7, 3-6, 4-5 (usual order)."""
    stage = only_stage("""
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VIN=VIN GND=GND HG=HO LG=LO SW=SW BST=VB FB=FB
Q1 nmos A: G=G1 D=VIN S=SW
Q2 nmos A: G=G2 D=SW S=GND
RN1 resistor 4x10R: HO LO A1 A2 B2 B1 G2 G1
L1 inductor 10u: SW VOUT
C3 capacitor 1u: VB SW
C2 capacitor 100u: VOUT GND
R9 resistor 10k: VOUT FB
""")
    assert chains(stage) == {
        "Q1": ("U1.3", ("RN1",), (), ()),
        "Q2": ("U1.4", ("RN1",), (), ()),
    }
