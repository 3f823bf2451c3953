"""Converters in less usual forms: flybacks, SEPIC, inverting, LED drivers, boosts.

Topologies as in Erickson, Maksimovic, Fundamentals of Power Electronics, 2nd ed.,
chapters 2 and 6; gate networks as in Balogh, TI SLUP169.  Every expected line is
our own output, gone over by eye.
"""

import pytest
from _told import lines, told

#: Board in shorthand (see `_stage_tables`) and its stages (see `_told`).
BOARDS = {
    "outh outl lowside boost": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
L1 inductor 10u: VIN SW
Q1 nmos N: G=G1 D=SW S=CS
R1 resistor 5R: OH G1
R2 resistor 1R: OL G1
R3 resistor 10k: G1 CS
R4 resistor 5m: CS GND
U2 chip DRV: VDD=+12V GND=GND IN+=PWM IN-=GND OUTH=OH OUTL=OL
J3 connector AUX: +12V +3V3 GND
C8 capacitor 1u: +12V GND
U1 chip MCU: PA0=PWM PA1=ISEN PA2=VS VDD=+3V3 VSS=GND
D1 schottky S: A=SW K=VOUT
C2 capacitor 100u: VOUT GND
J2 connector OUT: VOUT GND
""",
        """
boost at SW: VIN -> VOUT
  high D1; low Q1; L1; sense R4; driver U2, controller U1
  Q1.1 from U2.5 over R1; off R2; bleed R3
""",
    ),
    "totem pole npn pnp": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
C8 capacitor 1u: +12V GND
J3 connector AUX: +12V GND
U1 chip PWMCTRL: VCC=+12V GND=GND OUT=DRV FB=FB CS=CS
Q2 npn N: B=DB C=+12V E=TP
Q3 pnp P: B=DB C=GND E=TP
R1 resistor 100R: DRV DB
R2 resistor 10R: TP G1
D2 schottky S: A=G1 K=TP
R3 resistor 10k: G1 GND
Q1 nmos N: G=G1 D=SW S=GND
L1 inductor 10u: VIN SW
D1 schottky S: A=SW K=VOUT
C2 capacitor 100u: VOUT GND
R5 resistor 100k: VOUT FB
R6 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
boost at SW: VIN -> VOUT
  high D1; low Q1; L1; driver Q2, controller U1
  Q1.1 from Q2.3 over R2; off D2; bleed R3
""",
    ),
    "led buck lowside": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip LEDDRV: VIN=VIN GND=GND SW=SW CSN=LED+ DIM=DIM
R1 resistor 100m: VIN LED+
J2 connector LED: LED+ LED-
L1 inductor 47u: LED- SW
D1 schottky S: A=SW K=VIN
""",
        """
integrated buck at SW: VIN -> LED-
  high D1; L1; driver U1, controller U1; missing output capacitors
""",
    ),
    "sync flyback": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
T1 transformer FLY: P1=VIN P2=SW S1=SECA S2=GNDS
Q1 nmos N: G=G1 D=SW S=CS
R1 resistor 50m: CS GND
R2 resistor 4R7: DRV G1
U1 chip FLYCTRL: VIN=VIN GND=GND GATE=DRV CS=CS FB=FB
Q2 nmos N: G=SRG S=SECA D=VOUT
U2 chip SRCTRL: VDD=VSR GND=SECA VD=VOUT VG=SRG
C5 capacitor 1u: VSR SECA
C2 capacitor 100u: VOUT GNDS
C3 capacitor 100u: VOUT GNDS
J2 connector OUT: VOUT GNDS
""",
        """
flyback at SW: VIN -> VOUT
  high Q2; low Q1; T1; sense R1; driver U1, controller U1
  Q1.1 from U1.3 over R2
  Q2.1 from U2.4
""",
    ),
    "sync flyback ls": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
T1 transformer FLY: P1=VIN P2=SW S1=VOUT S2=SECD
Q1 nmos N: G=G1 D=SW S=CS
R1 resistor 50m: CS GND
R2 resistor 4R7: DRV G1
U1 chip FLYCTRL: VIN=VIN GND=GND GATE=DRV CS=CS FB=FB SG=SRG
Q2 nmos N: G=SRG2 D=SECD S=GND
R3 resistor 2R2: SRG SRG2
C2 capacitor 100u: VOUT GND
R7 resistor 100k: VOUT FB
R8 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
flyback at SW: VIN -> VOUT
  high Q2; low Q1; T1; sense R1; driver U1, controller U1
  Q1.1 from U1.3 over R2
  Q2.1 from U1.6 over R3
""",
    ),
    "offline flyback": (
        """
J1 connector AC: L N
BR1 diode BRIDGE: +=HV -=GND AC1=L AC2=N
C1 capacitor 22u: HV GND
T1 transformer EE16: P1=HV P2=DR S1=SEC S2=SGND AUX1=AX AUX2=GND
U1 chip TNY: D=DR S=GND BP/M=BP EN=FBK
C2 capacitor 100n: BP GND
D1 diode UF4007: A=DR K=CL
R1 resistor 100k: CL HV
C3 capacitor 1n: CL HV
D2 schottky SB: A=SEC K=+5V
C4 capacitor 470u: +5V SGND
D3 diode FR107: A=AX K=VAUX
C5 capacitor 10u: VAUX GND
R2 resistor 4k7: VAUX BP
J2 connector OUT: +5V SGND
""",
        """
flyback at DR: HV -> +5V
  T1; snubber D1 R1 C3; driver U1, controller U1
""",
    ),
    "iso flyback lowvoltage sw": (
        """
J1 connector IN: VIN GND
C1 capacitor 10u: VIN GND
U1 chip LTISO: VIN=VIN SW=SW GND=GND RFB=RFB RREF=RREF EN/UVLO=VIN
T1 transformer T: 1:=VIN 2:=SW 3:=SECA 4:=GND2
R1 resistor 100k: SW RFB
R2 resistor 10k: RREF GND
D1 schottky S: A=SECA K=VISO
C2 capacitor 22u: VISO GND2
J2 connector OUT: VISO GND2
""",
        """
flyback at SW: VIN -> VISO
  T1; driver U1, controller U1
""",
    ),
    "sepic integrated sync": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
L1 inductor 10u: VIN SW
Q1 nmos N: G=GD D=SW S=CS
R1 resistor 20m: CS GND
U1 chip BOOSTCTRL: VIN=VIN GND=GND GATE=GD ISEN=CS FB=FB
C2 capacitor 4u7: SW SW2
L2 inductor 10u: SW2 GND
D1 schottky S: A=SW2 K=VOUT
C3 capacitor 47u: VOUT GND
R3 resistor 30k: VOUT FB
R4 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
buck-boost at SW SW2: VIN -> VOUT
  high D1; low Q1; L1 L2; sense R1; driver U1, controller U1
  Q1.1 from U1.3
""",
    ),
    "inverting from buck": (
        """
J1 connector IN: +12V GND
C1 capacitor 22u: +12V GND
U1 chip BUCK: VIN=+12V GND=-5V SW=SW BST=B FB=FB EN=+12V
C2 capacitor 100n: B SW
L1 inductor 10u: SW GND
D1 schottky S: K=SW A=-5V
C3 capacitor 47u: GND -5V
R1 resistor 50k: GND FB
R2 resistor 10k: FB -5V
J2 connector OUT: -5V GND
""",
        """
integrated buck-boost at SW: +12V -> -5V
  low D1; L1; boot C2; driver U1, controller U1
""",
    ),
    "charge pump doubler": (
        """
J1 connector IN: +3V3 GND
C1 capacitor 1u: +3V3 GND
U1 chip PUMP: VIN=+3V3 GND=GND C1+=CP C1-=CN VOUT=+5V EN=+3V3
C2 capacitor 220n: CP CN
C3 capacitor 4u7: +5V GND
J2 connector OUT: +5V GND
""",
        """
charge pump at CP CN: +3V3 -> +5V
  driver U1, controller U1
""",
    ),
    "sync boost integrated": (
        """
J1 battery B: VBAT GND
C1 capacitor 10u: VBAT GND
L1 inductor 1u: VBAT SW
U1 chip SBOOST: VIN=VBAT SW=SW BOOT=BT VOUT=VOUT FB=FB GND=GND VCC=VC EN=EN COMP=CP
+ ILIM=IL
C2 capacitor 100n: BT SW
C3 capacitor 22u: VOUT GND
C4 capacitor 1u: VC GND
R1 resistor 100k: VOUT FB
R2 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
integrated boost at SW: VBAT -> VOUT
  L1; boot C2; driver U1, controller U1
""",
    ),
    "wled boost": (
        """
J1 connector IN: +5V GND
C1 capacitor 4u7: +5V GND
L1 inductor 22u: +5V SW
U1 chip LEDBOOST: VIN=+5V SW=SW FB=FB GND=GND EN=DIM OVP=VLED
D1 schottky S: A=SW K=VLED
C2 capacitor 1u: VLED GND
J2 connector BL: VLED FB
R1 resistor 10R: FB GND
""",
        """
integrated boost at SW: +5V -> VLED
  high D1; L1; driver U1, controller U1
""",
    ),
    "four switch controller with resistors": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip LT4SW: VIN=VIN GND=GND TG1=T1 BG1=B1 SW1=SW1 BOOST1=BS1 TG2=T2 BG2=B2 SW2=SW2
+ BOOST2=BS2 INTVCC=IVCC SENSEP=SN SENSEN=GND FB=FB VOUT=VOUT
C2 capacitor 4u7: IVCC GND
D1 schottky S: A=IVCC K=BS1
D2 schottky S: A=IVCC K=BS2
C3 capacitor 220n: BS1 SW1
C4 capacitor 220n: BS2 SW2
R1 resistor 2R2: T1 G1
R2 resistor 2R2: B1 G2
R3 resistor 2R2: T2 G3
R4 resistor 2R2: B2 G4
Q1 nmos N: G=G1 D=VIN S=SW1
Q2 nmos N: G=G2 D=SW1 S=SN
Q3 nmos N: G=G3 D=VOUT S=SW2
Q4 nmos N: G=G4 D=SW2 S=SN
R5 resistor 5m: SN GND
L1 inductor 4u7: SW1 SW2
C5 capacitor 100u: VOUT GND
R6 resistor 100k: VOUT FB
R7 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
buck-boost at SW1 SW2: VIN -> VOUT
  high Q1 Q3; low Q2 Q4; L1; boot C3 D1 C4 D2; sense R5; driver U1, controller U1
  Q1.1 from U1.3 over R1
  Q2.1 from U1.4 over R2
  Q3.1 from U1.7 over R3
  Q4.1 from U1.8 over R4
""",
    ),
    "buck async nfet controller boot": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip BUCKC: VIN=VIN GND=GND GATE=HG SW=SW BOOT=BST FB=FB COMP=CP ISEN=VIN
C2 capacitor 100n: BST SW
Q1 nmos N: G=HG D=VIN S=SW
D1 schottky S: K=SW A=GND
L1 inductor 10u: SW VOUT
C3 capacitor 100u: VOUT GND
R1 resistor 30k: VOUT FB
R2 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
buck at SW: VIN -> VOUT
  high Q1; low D1; L1; boot C2; driver U1, controller U1
  Q1.1 from U1.3
""",
    ),
    "p channel buck with follower pair": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip MCU: PWM=PW VDD=+3V3 VSS=GND AD=AD
Q1 pmos P: G=PG S=VIN D=SW
R1 resistor 10R: TP PG
Q2 npn N: B=BB C=VIN E=TP
Q3 pnp P: B=BB C=GND E=TP
R2 resistor 1k: VIN BB
Q4 npn N: B=B4 C=BB E=GND
R3 resistor 1k: PW B4
D1 schottky S: K=SW A=GND
L1 inductor 47u: SW VBAT
C2 capacitor 100u: VBAT GND
J2 battery B: VBAT GND
R5 resistor 100k: VBAT AD
R6 resistor 10k: AD GND
""",
        """
buck at SW: VIN -> VBAT
  high Q1; low D1; L1; driver Q2, controller U1
  Q1.1 from Q2.3 over R1
""",
    ),
}


@pytest.mark.parametrize("name", BOARDS)
def test_stages_are_as_drawn(name):
    text, expected = BOARDS[name]
    assert told(text) == lines(expected)
