"""Packages that hold more or show less than one transistor: duals, blocks, no names.

Pin orders and names are the usual ones of makers (common practice, no single
source); topologies as in Erickson, Maksimovic, Fundamentals of Power Electronics,
2nd ed.  Every expected line is our own output, gone over by eye: which switch stands
where, what lies between driver and gate, which way power flows.
"""

import pytest
from _told import lines, told

#: Board in shorthand (see `_stage_tables`) and its stages (see `_told`).
BOARDS = {
    "dual transistor with named pins": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VIN=VIN GND=GND VCC=VCC HDRV=HG LDRV=LG SW=SW BOOT=BST FB=FB COMP=CMP
+ EN=EN
C9 capacitor 1u: VCC GND
Q1 mosfet DUAL_N: S1=SW G1=HGA S2=GND G2=LGA D2=SW D2=SW D1=VIN D1=VIN
R1 resistor 2R2: HG HGA
R2 resistor 0R: LG LGA
C2 capacitor 100n: BST SW
L1 inductor 2u2: SW VOUT
C3 capacitor 47u: VOUT GND
R3 resistor 10k: VOUT FB
R4 resistor 3k: FB GND
J2 connector OUT: VOUT GND
""",
        """
synchronous buck at SW: VIN -> VOUT
  high Q1; low Q1; L1; boot C2; driver U1, controller U1
  Q1.2 from U1.4 over R1
  Q1.4 from U1.5 over R2
""",
    ),
    "power block as a chip": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VIN=VIN GND=GND VCC=VCC DRVH=HG DRVL=LG LX=SW VBST=BST VFB=FB EN=EN
C9 capacitor 1u: VCC GND
Q1 chip PB5: 1:VIN=VIN 2:VIN=VIN 3:TG=HGA 4:TGR=SW 5:BG=LGA 6:VSW=SW 7:VSW=SW
+ 8:VSW=SW 9:PGND=GND
R1 resistor 1R: HG HGA
R2 resistor 0R: LG LGA
C2 capacitor 100n: BST SW
L1 inductor 1u: SW VOUT
C3 capacitor 220u: VOUT GND
R3 resistor 10k: VOUT FB
R4 resistor 3k: FB GND
J2 connector OUT: VOUT GND
""",
        """
synchronous buck at SW: VIN -> VOUT
  high Q1; low Q1; L1; boot C2; driver U1, controller U1
  Q1.3 from U1.4 over R1
  Q1.5 from U1.5 over R2
""",
    ),
    "power block as a transistor": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VIN=VIN GND=GND VCC=VCC DRVH=HG DRVL=LG LX=SW VBST=BST VFB=FB EN=EN
C9 capacitor 1u: VCC GND
Q1 mosfet PB5: 1:VIN=VIN 3:TG=HG 4:TGR=SW 5:BG=LG 6:VSW=SW 9:PGND=GND
C2 capacitor 100n: BST SW
L1 inductor 1u: SW VOUT
C3 capacitor 220u: VOUT GND
R3 resistor 10k: VOUT FB
R4 resistor 3k: FB GND
J2 connector OUT: VOUT GND
""",
        """
synchronous buck at SW: VIN -> VOUT
  high Q1; low Q1; L1; boot C2; driver U1, controller U1
  Q1.3 from U1.4
  Q1.5 from U1.5
""",
    ),
    "drmos with phase pin": (
        """
J1 connector IN: +12V GND
C1 capacitor 22u: +12V GND
U1 chip MULTIPHASE: PWM1=PWM1 PWM2=PWM2 VCC=+5V GND=GND VSENP=VCORE VSENN=GND
+ ISEN1=IM1 ISEN2=IM2 EN=EN
C8 capacitor 1u: +5V GND
J3 connector AUX: +5V GND
U2 chip DRMOS: PWM=PWM1 SMOD#=+5V VCIN=+5V VDRV=+5V BOOT=BST1 PHASE=PH1 VIN=+12V
+ VSWH=SW1 GL=GL1 PGND=GND CGND=GND THWN=TH
U3 chip DRMOS: PWM=PWM2 SMOD#=+5V VCIN=+5V VDRV=+5V BOOT=BST2 PHASE=PH2 VIN=+12V
+ VSWH=SW2 GL=GL2 PGND=GND CGND=GND THWN=TH
C2 capacitor 100n: BST1 PH1
C3 capacitor 100n: BSTR2 PH2
R9 resistor 2R2: BST2 BSTR2
L1 inductor 150n: SW1 VCORE
L2 inductor 150n: SW2 VCORE
C4 capacitor 470u: VCORE GND
J2 connector OUT: VCORE GND
""",
        """
synchronous buck at SW1: +12V -> VCORE
  high U2; low U2; L1; boot C2; driver U2, controller U1
synchronous buck at SW2: +12V -> VCORE
  high U3; low U3; L2; boot C3 R9; driver U3, controller U1
""",
    ),
    "so8 no names": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VIN=VIN GND=GND VCC=VCC UGATE=HG LGATE=LG PHASE=SW BOOT=BST FB=FB
C9 capacitor 1u: VCC GND
Q1 mosfet NTMFS: SW SW SW HG VIN VIN VIN VIN
Q2 mosfet NTMFS: GND GND GND LG SW SW SW SW
C2 capacitor 100n: BST SW
L1 inductor 2u2: SW VOUT
C3 capacitor 47u: VOUT GND
R3 resistor 10k: VOUT FB
R4 resistor 3k: FB GND
J2 connector OUT: VOUT GND
""",
        """
synchronous buck at SW: VIN -> VOUT
  high Q1; low Q2; L1; boot C2; driver U1, controller U1
  Q1.4 from U1.4
  Q2.4 from U1.5
""",
    ),
    "coupled inductor multiphase": (
        """
J1 connector IN: +12V GND
C1 capacitor 22u: +12V GND
U1 chip CTRL3: VCC=+5V GND=GND UGATE1=H1 LGATE1=G1 PHASE1=S1 BOOT1=B1 UGATE2=H2
+ LGATE2=G2 PHASE2=S2 BOOT2=B2 FB=FB ISEN1=I1 ISEN2=I2 PWM3=PWM3
J3 connector AUX: +5V GND
C8 capacitor 1u: +5V GND
U2 chip DRV: VCC=+5V GND=GND PWM=PWM3 UGATE=H3 LGATE=G3 PHASE=S3 BOOT=B3
Q1 nmos N: G=H1 D=+12V S=S1
Q2 nmos N: G=G1 D=S1 S=GND
Q3 nmos N: G=H2 D=+12V S=S2
Q4 nmos N: G=G2 D=S2 S=GND
Q5 nmos N: G=H3 D=+12V S=S3
Q6 nmos N: G=G3 D=S3 S=GND
C2 capacitor 100n: B1 S1
C3 capacitor 100n: B2 S2
C4 capacitor 100n: B3 S3
L1 inductor COUPLED: 1:=S1 2:=VCORE 3:=S2 4:=VCORE
L2 inductor 220n: S3 VCORE
C5 capacitor 470u: VCORE GND
R1 resistor 1k: VCORE FB
J2 connector OUT: VCORE GND
""",
        """
synchronous buck at S1: +12V -> VCORE
  high Q1; low Q2; L1; boot C2; driver U1, controller U1
  Q1.1 from U1.3
  Q2.1 from U1.4
synchronous buck at S2: +12V -> VCORE
  high Q3; low Q4; L1; boot C3; driver U1, controller U1
  Q3.1 from U1.7
  Q4.1 from U1.8
synchronous buck at S3: +12V -> VCORE
  high Q5; low Q6; L2; boot C4; driver U2, controller U1
  Q5.1 from U2.4
  Q6.1 from U2.5
""",
    ),
    "four terminal shunt path": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
C81 capacitor 100u: VIN GND
D80 tvs SMAJ: K=VIN A=GND
RS1 resistor 1m: I1=VIN I2=VINS S1=SP S2=SN
C8 capacitor 10u: VINS GND
U2 chip CSA: IN+=SP IN-=SN VS=+3V3 GND=GND OUT=IMEAS
Q1 nmos N: G=HG D=VINS S=SW
Q2 nmos N: G=LG D=SW S=GND
U1 chip CTRL: VIN=VINS GND=GND VCC=VCC HO=HG LO=LG SW=SW HB=BST FB=FB
C9 capacitor 1u: VCC GND
C2 capacitor 100n: BST SW
L1 inductor 2u2: SW VOUT
C3 capacitor 47u: VOUT GND
R3 resistor 10k: VOUT FB
R4 resistor 3k: FB GND
J2 connector OUT: VOUT GND
""",
        """
synchronous buck at SW: VINS(VIN) -> VOUT
  high Q1; low Q2; L1; boot C2; sense RS1; driver U1, controller U1
  Q1.1 from U1.4
  Q2.1 from U1.5
""",
    ),
    "sepic coupled": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
L1 inductor COUPLED: 1:=VIN 2:=SW 3:=SW2 4:=GND
Q1 nmos N: G=GD D=SW S=CS
R1 resistor 20m: CS GND
U1 chip BOOSTCTRL: VIN=VIN GND=GND GATE=GD ISEN=CS FB=FB
C2 capacitor 4u7: SW SW2
D1 schottky S: A=SW2 K=VOUT
C3 capacitor 47u: VOUT GND
R3 resistor 30k: VOUT FB
R4 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
buck-boost at SW SW2: VIN -> VOUT
  high D1; low Q1; L1; sense R1; driver U1, controller U1
  Q1.1 from U1.3
""",
    ),
    "bms two lowside": (
        """
J1 connector CELL: B+ B-
C1 capacitor 100n: VDDP B-
R1 resistor 330R: B+ VDDP
U1 chip DW01A: OD=DO CS=CSI OC=CO TD=- VCC=VDDP GND=B-
Q1 mosfet FS8205: 1:S1=B- 2:D12=MID 3:S2=P- 4:G2=CO 5:D12=MID 6:G1=DO
R2 resistor 1k: CSI P-
J2 connector PACK: B+ P-
""",
        """
back-to-back pass: P- -> B-
  low Q1; driver U1, controller U1
  Q1.4 from U1.3
  Q1.6 from U1.1
""",
    ),
    "buck module internal coil": (
        """
J1 connector IN: VIN GND
C1 capacitor 10u: VIN GND
U1 chip BUCKMOD: VIN=VIN GND=GND EN=VIN VOUT=+3V3 FB=FB SW=SW PG=PG SS=SS
R1 resistor 30k: +3V3 FB
R2 resistor 10k: FB GND
C2 capacitor 22u: +3V3 GND
J2 connector OUT: +3V3 GND
""",
        """
integrated buck at SW: VIN -> +3V3
  driver U1, controller U1
""",
    ),
    "pmic4": (
        """
J1 connector IN: VSYS GND
C1 capacitor 10u: VSYS GND
U1 chip PMIC: VIN1=VSYS LX1=LX1 FB1=V1 VIN2=VSYS LX2=LX2 FB2=V2 VIN3=VSYS LX3=LX3
+ FB3=V3 VIN4=VSYS LX4=LX4 FB4=V4 LDOIN=VSYS LDO1OUT=V5 GND=GND SCL=SCL SDA=SDA
+ EN=VSYS
L1 inductor 1u: LX1 V1
L2 inductor 1u: LX2 V2
L3 inductor 1u: LX3 V3
L4 inductor 1u: LX4 V4
C2 capacitor 10u: V1 GND
C3 capacitor 10u: V2 GND
C4 capacitor 10u: V3 GND
C5 capacitor 10u: V4 GND
C6 capacitor 10u: V5 GND
J2 connector OUT: V1 V2 V3 V4 V5 GND
""",
        """
integrated buck at LX1: VSYS -> V1
  L1; driver U1, controller U1
integrated buck at LX2: VSYS -> V2
  L2; driver U1, controller U1
integrated buck at LX3: VSYS -> V3
  L3; driver U1, controller U1
integrated buck at LX4: VSYS -> V4
  L4; driver U1, controller U1
linear regulator: VSYS -> V5
  driver U1, controller U1
""",
    ),
    "gate transformer": (
        """
J1 connector HV: HV GND
C1 capacitor 100u: HV GND
U1 chip PWMC: VCC=+12V GND=GND OUTA=OA OUTB=OB FB=FB
C2 capacitor 1u: +12V GND
J3 connector AUX: +12V GND
T1 transformer GDT: P1=OA P2=OB SA1=HG1 SA2=SW SB1=LG1 SB2=GND
Q1 nmos N: G=HG D=HV S=SW
Q2 nmos N: G=LG D=SW S=GND
R1 resistor 10R: HG1 HG
R2 resistor 10R: LG1 LG
R3 resistor 10k: HG SW
R4 resistor 10k: LG GND
T2 transformer MAIN: P1=SW P2=CM S1=S1 S2=S2 S3=GND2
C4 capacitor 1u: HV CM
C5 capacitor 1u: CM GND
D1 schottky S: A=S1 K=VR
D2 schottky S: A=S2 K=VR
L1 inductor 10u: VR VOUT
C6 capacitor 100u: VOUT GND2
J2 connector OUT: VOUT GND2
""",
        """
half bridge at SW: HV -> SW
  high Q1; low Q2; driver U1, controller U1
  Q1.1 from T1.3 over R1; bleed R3
  Q2.1 from T1.5 over R2; bleed R4
""",
    ),
    "opto gate highside": (
        """
J1 connector BAT: BAT+ GND
C1 capacitor 10u: BAT+ GND
Q1 nmos N: G=G1 D=BAT+ S=LOAD
U1 chip PVOPTO: A=LA K=GND +=GP -=LOAD
R1 resistor 100R: GP G1
R2 resistor 1M: G1 LOAD
R3 resistor 470R: IO LA
U2 chip MCU: P0=IO VDD=+3V3 GND=GND
C2 capacitor 470u: LOAD GND
J2 connector OUT: LOAD GND
""",
        """
load switch: BAT+ -> LOAD
  high Q1; driver U1, controller U2
  Q1.1 from U1.3 over R1; bleed R2
""",
    ),
    "pd sink p common source shared": (
        """
J1 connector USBC: VBUS=VBUS GND=GND CC1=CC1 CC2=CC2
C1 capacitor 10u: VBUS GND
U1 chip PDSINK: VBUS=VBUS CC1=CC1 CC2=CC2 VBUS_EN_SNK=ENS VDD=VBUS GND=GND
Q1 mosfet DUAL_P-MOSFET: S1=MID G1=PG S2=MID G2=PG D2=VSINK D2=VSINK D1=VBUS D1=VBUS
R1 resistor 100k: MID PG
C8 capacitor 100n: MID PG
R2 resistor 22k: PG ENS
C2 capacitor 10u: VSINK GND
J2 connector OUT: VSINK GND
""",
        """
back-to-back pass: VBUS -> VSINK
  high Q1; driver U1, controller U1
  Q1.2 from U1.4 over R2; bleed R1
  Q1.4 from U1.4 over R2; bleed R1
""",
    ),
    "typed table no names boost": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
L1 inductor 10u: VIN SW
Q1 mosfet N-MOSFET: CS CS CS G1 SW SW SW SW
R1 resistor 10m: CS GND
R2 resistor 4R7: DRV G1
R5 resistor 10k: G1 CS
D1 diode SS: A=SW K=VOUT
C2 capacitor 100u: VOUT GND
U1 chip CTRL: VIN=VIN GND=GND GATE=DRV CS=CS FB=FB
R3 resistor 100k: VOUT FB
R4 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
boost at SW: VIN -> VOUT
  high D1; low Q1; L1; sense R1; driver U1, controller U1
  Q1.4 from U1.3 over R2; bleed R5
""",
    ),
}


@pytest.mark.parametrize("name", BOARDS)
def test_stages_are_as_drawn(name):
    text, expected = BOARDS[name]
    assert told(text) == lines(expected)
