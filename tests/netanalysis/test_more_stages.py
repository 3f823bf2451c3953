"""Pass transistors, protection and supplies as open hardware draws them.

Load switches, back-to-back pairs, mux and protection switches, regulators; parts
that only switch signals are no stages.  Reference designs in general (common
practice, no single source); every expected line is our own output, gone over by eye.
"""

import pytest
from _told import lines, told

#: Board in shorthand (see `_stage_tables`) and its stages (see `_told`).
BOARDS = {
    "p switch nmos rc": (
        """
U3 chip BUCK: VIN=+12V GND=GND SW=SW5 FB=+5V BOOT=B5 EN=+12V
L9 inductor 4u7: SW5 +5V
C90 capacitor 100n: B5 SW5
C91 capacitor 22u: +5V GND
C92 capacitor 22u: +12V GND
J1 connector PWR: +12V GND
Q1 pmos P: G=QG S=+5V D=+5V_SW
R1 resistor 100k: QG +5V
C1 capacitor 100n: QG +5V
R2 resistor 10k: QG QD
Q2 nmos N: G=EN_G S=GND D=QD
R3 resistor 100k: EN_G GND
R4 resistor 1k: EN_5V EN_G
U1 chip MCU: PA0=EN_5V VDD=+3V3 VSS=GND PA1=X PA2=Y
C2 capacitor 10u: +5V_SW GND
U2 chip SENSOR: VDD=+5V_SW GND=GND SDA=SDA
U4 chip LDO33: VIN=+5V VOUT=+3V3 GND=GND
C93 capacitor 1u: +3V3 GND
""",
        """
integrated buck at SW5: +12V -> +5V
  L9; boot C90; driver U3, controller U3
load switch: +5V -> +5V_SW
  high Q1; driver Q2, controller U1
  Q1.1 from Q2.3 over R2; bleed R1
linear regulator: +5V -> +3V3
  driver U4, controller U4
""",
    ),
    "p switch softstart gate drain cap": (
        """
J1 connector PWR: VBAT GND
C2 capacitor 10u: VBAT GND
Q1 pmos P: G=QG S=VBAT D=VSYS_SW
R1 resistor 100k: QG VBAT
C1 capacitor 10n: QG VSYS_SW
R2 resistor 1k: QG QD
Q2 npn N: B=QB E=GND C=QD
R3 resistor 10k: PWR_EN QB
R5 resistor 47k: QB GND
U1 chip MCU: IO0=PWR_EN VDD=+3V3 VSS=GND PA1=X PA2=Y
C3 capacitor 22u: VSYS_SW GND
J2 connector LOAD: VSYS_SW GND
""",
        """
load switch: VBAT -> VSYS_SW
  high Q1; driver Q2, controller U1
  Q1.1 from Q2.3 over R2; bleed R1
""",
    ),
    "pd sink common source n": (
        """
J1 connector USBC: VBUS=VBUS GND=GND CC1=CC1 CC2=CC2
C1 capacitor 10u: VBUS GND
U1 chip PDCTRL: VBUS=VBUS CC1=CC1 CC2=CC2 GATE=SNKG VDD=VDD33 GND=GND SRC=MID SCL=SCL
+ SDA=SDA
C9 capacitor 1u: VDD33 GND
Q1 nmos N: G=GA S=MID D=VBUS
Q2 nmos N: G=GB S=MID D=VSINK
R1 resistor 10R: SNKG GA
R2 resistor 10R: SNKG GB
C2 capacitor 47u: VSINK GND
J2 connector OUT: VSINK GND
""",
        """
back-to-back pass: VBUS -> VSINK
  high Q1 Q2; driver U1, controller U1
  Q1.1 from U1.4 over R1
  Q2.1 from U1.4 over R2
""",
    ),
    "pd sink p common drain": (
        """
J1 connector USBC: VBUS=VBUS GND=GND CC1=CC1 CC2=CC2
C1 capacitor 10u: VBUS GND
U1 chip PDSINK: VBUS=VBUS CC1=CC1 CC2=CC2 VBUS_EN_SNK=ENS VDD=VBUS GND=GND
Q1 pmos P: G=PG S=VBUS D=MID
Q2 pmos P: G=PG2 S=VOUT D=MID
R1 resistor 100k: VBUS PG
R2 resistor 22k: PG ENS
R3 resistor 100k: VOUT PG2
R4 resistor 22k: PG2 ENS
C2 capacitor 10u: VOUT GND
J2 connector OUT: VOUT GND
""",
        """
back-to-back pass: VBUS -> VOUT
  high Q1 Q2; driver U1, controller U1
  Q1.1 from U1.4 over R2; bleed R1
  Q2.1 from U1.4 over R4; bleed R3
""",
    ),
    "hot swap": (
        """
J1 connector IN: +48V GND
C1 capacitor 1u: +48V GND
R1 resistor 2m: +48V SNS
Q1 nmos N: G=HG D=SNS S=VOUT48
R2 resistor 10R: GATE HG
R9 resistor 1k: GATE GCAP
C5 capacitor 10n: GCAP GND
U1 chip HOTSWAP: VIN=+48V SENSE=SNS GATE=GATE OUT=VOUT48 GND=GND UVLO=UV OVLO=OV
+ PGD=PG TIMER=TMR
R3 resistor 100k: +48V UV
R4 resistor 10k: UV OV
R5 resistor 10k: OV GND
C6 capacitor 100n: TMR GND
D1 tvs SMBJ58A: K=+48V A=GND
D2 schottky SS: K=VOUT48 A=GND
C2 capacitor 470u: VOUT48 GND
J2 connector OUT: VOUT48 GND
""",
        """
load switch: SNS(+48V) -> VOUT48
  high Q1; sense R1; driver U1, controller U1
  Q1.1 from U1.3 over R2
""",
    ),
    "ideal diode or": (
        """
J1 connector A: VINA GND
J2 connector B: VINB GND
C1 capacitor 10u: VINA GND
C2 capacitor 10u: VINB GND
Q1 nmos N: G=GA S=VINA D=VBUS
Q2 nmos N: G=GB S=VINB D=VBUS
U1 chip ORING: VIN1=VINA GATE1=GA VIN2=VINB GATE2=GB OUT=VBUS VCC=VBUS GND=GND
+ STATUS1=ST1
C3 capacitor 47u: VBUS GND
J3 connector OUT: VBUS GND
""",
        """
ideal diode: VINA -> VBUS
  high Q1; driver U1, controller U1
  Q1.1 from U1.2
ideal diode: VINB -> VBUS
  high Q2; driver U1, controller U1
  Q2.1 from U1.4
""",
    ),
    "or p fet and diode": (
        """
J1 connector USB: VBUS GND
J2 battery LIPO: VBAT GND
C1 capacitor 4u7: VBUS GND
C2 capacitor 10u: VBAT GND
Q1 pmos P: G=VBUS D=VBAT S=VSYS
D1 schottky SS: A=VBUS K=VSYS
R1 resistor 100k: VBUS GND
C3 capacitor 10u: VSYS GND
U1 chip AP2112K-3.3: VIN=VSYS GND=GND EN=VSYS NC=- VOUT=+3V3
C4 capacitor 1u: +3V3 GND
U2 chip MCU: VDD=+3V3 GND=GND IO=X
""",
        """
load switch: VBAT -> VSYS
  high Q1; driver None, controller None
  Q1.1 from J1.1
linear regulator: VSYS -> +3V3
  driver U1, controller U1
""",
    ),
    "efuse and multichannel": (
        """
J1 connector IN: +12V GND
C1 capacitor 10u: +12V GND
U1 chip EFUSE: IN=+12V IN=+12V OUT=+12V_P OUT=+12V_P EN/UVLO=EN OVP=OVP ILIM=IL
+ DVDT=DV GND=GND FLT=F PG=PG
R1 resistor 1k: IL GND
C2 capacitor 10n: DV GND
C3 capacitor 22u: +12V_P GND
J2 connector OUT: +12V_P GND
J9 connector IN5: +5V GND
C9 capacitor 22u: +5V GND
U2 chip DUALSW: IN=+5V GND=GND EN1=E1 EN2=E2 OUT1=VUSB1 OUT2=VUSB2 FLT1=F1 FLT2=F2
C4 capacitor 10u: VUSB1 GND
C5 capacitor 10u: VUSB2 GND
J3 connector USB1: VUSB1 GND
J4 connector USB2: VUSB2 GND
U3 chip LOADSW: VIN1=+5V VIN2=+3V3 VBIAS=+5V ON1=E3 ON2=E4 VOUT1=+5V_A VOUT2=+3V3_A
+ CT1=CT1 CT2=CT2 GND=GND
C6 capacitor 1u: +5V_A GND
C7 capacitor 1u: +3V3_A GND
C8 capacitor 1u: +3V3 GND
C10 capacitor 1n: CT1 GND
C11 capacitor 1n: CT2 GND
J5 connector A: +5V_A +3V3_A GND +3V3
""",
        """
load switch: +12V -> +12V_P
  driver U1, controller U1
load switch: +5V -> VUSB1
  driver U2, controller U2
load switch: +5V -> VUSB2
  driver U2, controller U2
load switch: +5V -> +5V_A
  driver U3, controller U3
load switch: +3V3 -> +3V3_A
  driver U3, controller U3
""",
    ),
    "precharge": (
        """
J1 connector BAT: BAT+ GND
C1 capacitor 1u: BAT+ GND
Q1 nmos N: G=G1 D=BAT+ S=PACK+
Q2 pmos P: G=G2 S=BAT+ D=PRE
R1 resistor 47R: PRE PACK+
R2 resistor 100k: G2 BAT+
R3 resistor 10k: G2 Q3D
Q3 nmos N: G=PREEN D=Q3D S=GND
U1 chip AFE: PCHG=PREEN CHG=CHGP VSS=GND VDD=+3V3
U2 chip HSDRV: VBAT=BAT+ GND=GND GATE=GD IN=ON SRC=PACK+
R4 resistor 10R: GD G1
C2 capacitor 470u: PACK+ GND
J2 connector OUT: PACK+ GND
""",
        """
load switch: BAT+ -> PACK+
  high Q1; driver U2, controller U2
  Q1.1 from U2.3 over R4
load switch: BAT+ -> PRE(PACK+)
  high Q2; driver Q3, controller U1
  Q2.1 from Q3.2 over R3; bleed R2
""",
    ),
    "boost load disconnect": (
        """
J1 battery CELL: VBAT GND
C1 capacitor 10u: VBAT GND
U1 chip BOOST: VIN=VBAT GND=GND L=SW VOUT=+5V FB=FB EN=VBAT
L1 inductor 2u2: VBAT SW
C2 capacitor 22u: +5V GND
R1 resistor 50k: +5V FB
R2 resistor 10k: FB GND
Q1 pmos P: G=G S=+5V D=+5V_OUT
R3 resistor 100k: G +5V
Q2 nmos N: G=EN D=G S=GND
R4 resistor 100k: EN GND
U2 chip MCU: PA0=EN VDD=VBAT VSS=GND PA1=X
C3 capacitor 10u: +5V_OUT GND
J2 connector OUT: +5V_OUT GND
""",
        """
integrated boost at SW: VBAT -> +5V
  L1; driver U1, controller U1
load switch: +5V -> +5V_OUT
  high Q1; driver Q2, controller U2
  Q1.1 from Q2.2; bleed R3
""",
    ),
    "soft latch": (
        """
J1 battery B: VBAT GND
C1 capacitor 10u: VBAT GND
Q1 pmos P: G=PG S=VBAT D=VSW
R1 resistor 100k: PG VBAT
D1 diode BAT54C: A1=PG A2=BTN_N K=SWK
SW1 switch BTN: SWK GND
Q2 nmos N: G=PEN S=GND D=PG
R2 resistor 100k: PEN GND
U1 chip MCU: PA0=PEN PA1=BTN_N VDD=+3V3 VSS=GND
U2 chip LDO-3.3: VIN=VSW GND=GND EN=VSW VOUT=+3V3
C2 capacitor 1u: VSW GND
C3 capacitor 1u: +3V3 GND
""",
        """
load switch: VBAT -> VSW
  high Q1; driver Q2, controller U1
  Q1.1 from Q2.3; bleed R1
linear regulator: VSW -> +3V3
  driver U2, controller U2
""",
    ),
    "reverse p zener": (
        """
J1 connector IN: VIN GND
Q1 pmos P: D=VIN S=VP G=RG
R1 resistor 10k: RG GND
D1 zener 12V: K=VP A=RG
C1 capacitor 100u: VP GND
U1 chip BUCK: VIN=VP GND=GND SW=SW FB=FB BST=B EN=VP
L1 inductor 10u: SW +5V
C2 capacitor 100n: B SW
C3 capacitor 22u: +5V GND
R2 resistor 50k: +5V FB
R3 resistor 10k: FB GND
""",
        """
ideal diode: VIN -> VP
  high Q1; driver None, controller None
  Q1.3 from None
integrated buck at SW: VP -> +5V
  L1; boot C2; driver U1, controller U1
""",
    ),
    "surge stopper hgate dgate": (
        """
J1 connector IN: VIN GND
Q1 nmos N: G=G1 D=MID S=VIN
Q2 nmos N: G=G2 D=MID S=SENS
U1 chip SURGE: VCC=VIN SHDN=VIN HGATE=HG SOURCE=VIN DGATE=DG SENSE=SENS OUT=VOUT
+ FB=FB TMR=TM GND=GND UV=UV OV=OV
R1 resistor 10R: HG G2
R2 resistor 10R: DG G1
R3 resistor 10m: SENS VOUT
C1 capacitor 22u: VOUT GND
C2 capacitor 100n: TM GND
R4 resistor 100k: VOUT FB
R5 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
back-to-back pass: VIN -> SENS(VOUT)
  high Q1 Q2; sense R3; driver U1, controller U1
  Q1.1 from U1.5 over R2
  Q2.1 from U1.3 over R1
""",
    ),
}


@pytest.mark.parametrize("name", BOARDS)
def test_stages_are_as_drawn(name):
    text, expected = BOARDS[name]
    assert told(text) == lines(expected)
