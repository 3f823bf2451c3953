"""Stages with paralleled switches, rectifiers and shunts, and interleaved ones.

As open-hardware designers draw them (common practice, no single source).  Every
expected line is our own output, gone over by eye.
"""

import pytest
from _told import lines, told

#: Board in shorthand (see `_stage_tables`) and its stages (see `_told`).
BOARDS = {
    "boost with two rectifiers and two switches": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
L1 inductor 10u: VIN SW
Q1 nmos N: G=GA D=SW S=CS
Q2 nmos N: G=GB D=SW S=CS
R1 resistor 4R7: DRV GA
R2 resistor 4R7: DRV GB
R3 resistor 10m: CS GND
R4 resistor 10m: CS GND
D1 schottky S: A=SW K=VOUT
D2 schottky S: A=SW K=VOUT
C2 capacitor 100u: VOUT GND
U1 chip CTRL: VIN=VIN GND=GND GATE=DRV CS=CS FB=FB
R5 resistor 100k: VOUT FB
R6 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
boost at SW: VIN -> VOUT
  high D1 D2; low Q1 Q2; L1; sense R3 R4; driver U1, controller U1
  Q1.1 from U1.3 over R1
  Q2.1 from U1.3 over R2
""",
    ),
    "parallel kelvin sic": (
        """
J1 connector DC: VB GND
C1 capacitor 470u: VB GND
U1 chip DRV: VDD=+12V GND=GND IN=P1 OUTH=OH OUTL=OL
Q1 mosfet N-MOSFET: 1:D=SW 2:S=GND 3:KS=K1 4:G=G1
Q2 mosfet N-MOSFET: 1:D=SW 2:S=GND 3:KS=K2 4:G=G2
R1 resistor 4R7: OH G1
R2 resistor 2R2: OL G1
R3 resistor 4R7: OH G2
R4 resistor 2R2: OL G2
R5 resistor 1R: K1 GND
R6 resistor 1R: K2 GND
L1 inductor 100u: VB SW
D1 diode F: A=SW K=HV
C2 capacitor 100u: HV GND
J2 connector OUT: HV GND
U2 chip DSP: P1=P1 VDD=+3V3 GND=GND AD=FB
R7 resistor 1M: HV FB
R8 resistor 10k: FB GND
""",
        """
boost at SW: VB -> HV
  high D1; low Q1 Q2; L1; driver U1, controller U2
  Q1.4 from U1.4 over R1; off R2
  Q2.4 from U1.4 over R3; off R4
""",
    ),
    "interleaved boost shared fet drive": (
        """
J1 connector IN: VIN GND
C1 capacitor 100u: VIN GND
L1 inductor 33u: VIN SA
L2 inductor 33u: VIN SB
Q1 nmos N: G=GA D=SA S=GND
Q2 nmos N: G=GB D=SB S=GND
R1 resistor 10R: OA GA
R2 resistor 10R: OB GB
D1 schottky S: A=SA K=VOUT
D2 schottky S: A=SB K=VOUT
C2 capacitor 100u: VOUT GND
U1 chip DRV: VDD=+12V GND=GND INA=PA INB=PB OUTA=OA OUTB=OB
U2 chip MCU: P1=PA P2=PB AD=FB VDD=+3V3 GND=GND
R3 resistor 100k: VOUT FB
R4 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
boost at SA: VIN -> VOUT
  high D1; low Q1; L1; driver U1, controller U2
  Q1.1 from U1.5 over R1
boost at SB: VIN -> VOUT
  high D2; low Q2; L2; driver U1, controller U2
  Q2.1 from U1.6 over R2
""",
    ),
}


@pytest.mark.parametrize("name", BOARDS)
def test_stages_are_as_drawn(name):
    text, expected = BOARDS[name]
    assert told(text) == lines(expected)
