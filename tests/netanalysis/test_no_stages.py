"""Coils, transistors and chips that are no stages, beside a few that are.

Signals, indicators, cell balancing, audio, radio: as open-hardware designers draw
them (common practice, no single source).  Answers read off the drawings by hand.
"""

import pytest
from _told import lines, told

#: Board in shorthand (see `_stage_tables`) and its stages (see `_told`).
BOARDS = {
    "signal traps": (
        """
J1 connector IN: +5V +3V3 GND
C1 capacitor 10u: +5V GND
C2 capacitor 10u: +3V3 GND
U1 chip MCU: VDD=+3V3 VSS=GND TX=TX RST=NRST IO=IO0 LEDP=LP BUZ=BZ IR=IRG OE=OE
Q1 npn N: B=B1 C=NRST E=RTS
R1 resistor 10k: DTR B1
Q2 npn N: B=B2 C=IO0 E=DTR
R2 resistor 10k: RTS B2
U2 chip UART: DTR=DTR RTS=RTS VCC=+5V GND=GND RXD=TX
R3 resistor 10k: NRST +3V3
R4 resistor 10k: IO0 +3V3
Q3 nmos N: G=LP D=LK S=GND
D1 led W: A=LA K=LK
R5 resistor 100R: +5V LA
Q4 nmos N: G=IRG D=IRK S=GND
D2 led IR: A=IRA K=IRK
R6 resistor 10R: +5V IRA
Q5 pmos P: G=OE S=+3V3 D=LEDV
D3 led R: A=LEDV K=LC
R7 resistor 1k: LC GND
Q6 nmos N: G=PGD D=PG_N S=GND
R8 resistor 10k: PG_N +3V3
R9 resistor 100k: PGD +5V
R10 resistor 47k: PGD GND
Q7 npn PHOTO: C=PH E=GND B=PB
R11 resistor 10k: PH +3V3
Q8 nmos N: G=+3V3 S=TXL D=TXH
R12 resistor 10k: TXL +3V3
R13 resistor 10k: TXH +5V
J2 connector EXT: TXH PG_N LEDV GND
""",
        """
load switch: +3V3 -> LEDV
  high Q5; driver U1, controller U1
  Q5.1 from U1.9
""",
    ),
    "discharge and sense fets": (
        """
J1 connector IN: +5V GND
C1 capacitor 10u: +5V GND
Q1 pmos P: G=PG S=+5V D=+5V_SW
R1 resistor 100k: PG +5V
Q2 nmos N: G=EN S=GND D=PG
C2 capacitor 10u: +5V_SW GND
Q3 nmos N: G=DIS S=GND D=DSD
R2 resistor 100R: +5V_SW DSD
Q4 nmos N: G=EN D=DIVT S=VBD
R3 resistor 100k: +5V_SW DIVT
R4 resistor 10k: VBD GND
C3 capacitor 100n: VBD GND
U1 chip MCU: P1=EN P2=DIS AD=VBD VDD=+3V3 GND=GND
J2 connector OUT: +5V_SW GND
""",
        """
load switch: +5V -> +5V_SW
  high Q1; driver Q2, controller U1
  Q1.1 from Q2.3; bleed R1
""",
    ),
    "balancing fets bms": (
        """
J1 connector CELLS: C0 C1 C2 C3
R0 resistor 1k: C0 V0
R1 resistor 1k: C1 V1
R2 resistor 1k: C2 V2
R3 resistor 1k: C3 V3
Q1 nmos N: G=B1 D=X1 S=C0
Q2 nmos N: G=B2 D=X2 S=C1
Q3 nmos N: G=B3 D=X3 S=C2
R4 resistor 33R: C1 X1
R5 resistor 33R: C2 X2
R6 resistor 33R: C3 X3
R7 resistor 1k: V1 B1
R8 resistor 1k: V2 B2
R9 resistor 1k: V3 B3
U1 chip AFE: VC0=V0 VC1=V1 VC2=V2 VC3=V3 VSS=C0 BAT=C3
C1 capacitor 100n: V0 V1
C2 capacitor 100n: V1 V2
C3 capacitor 100n: V2 V3
""",
        """

""",
    ),
    "audio class d": (
        """
J1 connector IN: PVCC GND
C1 capacitor 220u: PVCC GND
U1 chip AMP: PVCC=PVCC GND=GND OUTP=OP OUTN=ON BSP=BP BSN=BN AVCC=PVCC GVDD=GV INP=IP
+ INN=IN
C2 capacitor 220n: BP OP
C3 capacitor 220n: BN ON
C6 capacitor 1u: GV GND
L1 inductor 10u: OP SP+
L2 inductor 10u: ON SP-
C4 capacitor 680n: SP+ GND
C5 capacitor 680n: SP- GND
J2 connector SPK: SP+ SP-
""",
        """

""",
    ),
    "ethernet and usb chokes": (
        """
J1 connector USB: VBUS D+ D- GND
C1 capacitor 10u: VBUS GND
L1 inductor CMC: 1:=D+ 2:=DP 3:=D- 4:=DM
U1 chip PHY: DP=DP DM=DM VDD=+3V3 GND=GND SW=X1
FB1 bead 600R@100MHz: VBUS V5
C2 capacitor 10u: V5 GND
U2 chip LDO-3.3: VIN=V5 GND=GND VOUT=+3V3
C3 capacitor 1u: +3V3 GND
""",
        """
linear regulator: V5 -> +3V3
  driver U2, controller U2
""",
    ),
    "antenna preamp bias coils": (
        """
J1 connector RF: ANT GND
L1 inductor 27n: RFO +3V3
U1 chip LNA: RFIN=RFI RFOUT=RFO VDD=+3V3 GND=GND EN=EN
C1 capacitor 100p: ANT RFI
C2 capacitor 100p: RFO RF2
U2 chip RX: LNA_IN=RF2 VDD=+3V3 GND=GND LO=LO
C3 capacitor 10u: +3V3 GND
J2 connector P: +3V3 GND EN
""",
        """

""",
    ),
    "bjt load switches": (
        """
J1 connector IN: +5V GND
C1 capacitor 10u: +5V GND
Q1 pnp P: B=PB E=+5V C=VMOD
R1 resistor 10k: PB +5V
R2 resistor 1k: PB QC
Q2 npn N: B=NB E=GND C=QC
R3 resistor 4k7: EN NB
R4 resistor 47k: NB GND
U1 chip MCU: P1=EN VDD=+3V3 GND=GND
C2 capacitor 10u: VMOD GND
J2 connector MOD: VMOD GND TX
""",
        """
load switch: +5V -> VMOD
  high Q1; driver Q2, controller U1
  Q1.1 from Q2.3 over R2; bleed R1
""",
    ),
    "igbt half bridge module": (
        """
J1 connector DC: P N
C1 capacitor 470u: P N
Q1 igbt IGBT: G=G1 C=P E=U
Q2 igbt IGBT: G=G2 C=U E=N
U1 chip DRV: VCC=+15V COM=N HIN=HI LIN=LI VB=VB HO=HO VS=U LO=LO
D1 diode F: A=+15V K=VB
C2 capacitor 1u: VB U
R1 resistor 22R: HO G1
R2 resistor 22R: LO G2
D2 diode F: A=G1 K=OF1
R3 resistor 10R: OF1 HO
R4 resistor 10k: G1 U
R5 resistor 10k: G2 N
U2 chip MCU: P1=HI P2=LI VDD=+5V GND=N
J2 connector M: U N
C3 capacitor 10u: +15V N
""",
        """
half bridge at U: P -> U
  high Q1; low Q2; boot C2 D1; driver U1, controller U2
  Q1.1 from U1.6 over R1; off D2 R3; bleed R4
  Q2.1 from U1.8 over R2; bleed R5
""",
    ),
    "kelvin source power fets": (
        """
J1 connector DC: VB GND
C1 capacitor 470u: VB GND
U1 chip DRV: VDD=+12V HB=HB HO=HO HS=KSH HI=HI LI=LI LO=LO VSS=GND
C2 capacitor 1u: HB KSH
Q1 mosfet N-MOSFET: 1:G=G1 2:KS=KSH 3:S=SW 4:S=SW 9:D=VB
Q2 mosfet N-MOSFET: 1:G=G2 2:KS=GND 3:S=GND 4:S=GND 9:D=SW
R1 resistor 2R: HO G1
R2 resistor 2R: LO G2
R3 resistor 0R: KSH SW
L1 inductor 10u: SW VO
C3 capacitor 100u: VO GND
J2 connector OUT: VO GND
U2 chip DSP: P1=HI P2=LI VDD=+3V3 GND=GND AD=FBV
R6 resistor 100k: VO FBV
R7 resistor 10k: FBV GND
""",
        """
synchronous buck at SW: VB -> VO
  high Q1; low Q2; L1; boot R3 C2; driver U1, controller U2
  Q1.1 from U1.3 over R1
  Q2.1 from U1.7 over R2
""",
    ),
    "buck output shunt and bead": (
        """
J1 connector IN: VIN GND
FB1 bead 100R@100MHz: VIN VINB
C1 capacitor 22u: VINB GND
U1 chip BUCK: VIN=VINB EN=VINB GND=GND SW=SW BST=B FB=FB
R9 resistor 10R: B BX
C2 capacitor 100n: BX SW
L1 inductor 4u7: SW VOS
R1 resistor 20m: VOS +5V
C3 capacitor 22u: VOS GND
C4 capacitor 22u: +5V GND
R2 resistor 50k: +5V FB
R3 resistor 10k: FB GND
U2 chip INA: IN+=VOS IN-=+5V VS=+3V3 GND=GND SDA=SDA SCL=SCL
J2 connector OUT: +5V GND
""",
        """
integrated buck at SW: VINB -> VOS(+5V)
  L1; boot C2 R9; sense R1; driver U1, controller U1
""",
    ),
    "dual ldo and tracking": (
        """
J1 connector IN: +12V -12V GND
C1 capacitor 10u: +12V GND
C2 capacitor 10u: GND -12V
U1 chip LM317: ADJ=A1 VO=+9V VI=+12V
R1 resistor 240R: +9V A1
R2 resistor 1k5: A1 GND
C3 capacitor 10u: +9V GND
U2 chip LM337: ADJ=A2 VI=-12V VO=-9V
R3 resistor 240R: -9V A2
R4 resistor 1k5: A2 GND
C4 capacitor 10u: GND -9V
U3 chip L78L05: VO=+5V GND=GND VI=+12V
C5 capacitor 1u: +5V GND
U4 chip L79L05: GND=GND VI=-12V VO=-5V
C6 capacitor 1u: GND -5V
J2 connector OUT: +9V -9V +5V -5V GND
""",
        """
linear regulator: +12V -> +9V
  driver U1, controller U1
linear regulator: -12V -> -9V
  driver U2, controller U2
linear regulator: +12V -> +5V
  driver U3, controller U3
linear regulator: -12V -> -5V
  driver U4, controller U4
""",
    ),
    "ddr termination": (
        """
J1 connector IN: +1V5 +3V3 GND
C1 capacitor 10u: +1V5 GND
C8 capacitor 10u: +3V3 GND
U1 chip VTT: VIN=+3V3 VLDOIN=+1V5 VO=VTT VOSNS=VTT REFIN=RI REFOUT=VREF PGND=GND
+ GND=GND EN=EN PGOOD=PG
R1 resistor 10k: +1V5 RI
R2 resistor 10k: RI GND
C2 capacitor 22u: VTT GND
C3 capacitor 100n: VREF GND
U2 chip DDR: VDD=+1V5 VREF=VREF VSS=GND
R3 resistor 39R: VTT A0
U3 chip SOC: A0=A0 VDD=+1V5 GND=GND
""",
        """
linear regulator: +1V5 -> VTT
  driver U1, controller U1
""",
    ),
    "reverse fet then load switch": (
        """
J1 connector IN: VIN GND
Q1 pmos P: G=RG D=VIN S=MID
R1 resistor 100k: RG GND
D1 zener 12V: K=MID A=RG
Q2 pmos P: G=PG S=MID D=VOUT
R2 resistor 100k: PG MID
R3 resistor 10k: PG QD
Q3 nmos N: G=EN S=GND D=QD
R4 resistor 100k: EN GND
U1 chip MCU: P1=EN VDD=+3V3 GND=GND
C1 capacitor 47u: VOUT GND
J2 connector OUT: VOUT GND
""",
        """
ideal diode: VIN -> MID
  high Q1; driver None, controller None
  Q1.1 from None
load switch: MID -> VOUT
  high Q2; driver Q3, controller U1
  Q2.1 from Q3.3 over R3; bleed R2
""",
    ),
    "phase disconnect fets": (
        """
J1 connector BAT: VB GND
C1 capacitor 1000u: VB GND
U1 chip GD: VCC=+12V GND=GND HIN=HI LIN=LI VB=VBS HO=HO VS=PH LO=LO
C2 capacitor 1u: VBS PH
D1 diode F: A=+12V K=VBS
Q1 nmos N: G=G1 D=VB S=PH
Q2 nmos N: G=G2 D=PH S=SH
R1 resistor 10R: HO G1
R2 resistor 10R: LO G2
R3 resistor 1m: SH GND
RP resistor 500u: PH PHO
U3 chip INA240: IN+=PH IN-=PHO OUT=IS VS=+3V3 GND=GND
J2 connector MOT: PHO GND
U2 chip MCU: P1=HI P2=LI P3=IS VDD=+3V3 VSS=GND
C9 capacitor 1u: +3V3 GND
""",
        """
half bridge at PH: VB -> PH
  high Q1; low Q2; boot C2 D1; sense R3 RP; driver U1, controller U2
  Q1.1 from U1.6 over R1
  Q2.1 from U1.8 over R2
""",
    ),
    "two stage input filter buck": (
        """
J1 connector IN: VIN GND
F1 fuse 5A: VIN VF
L1 inductor 10u: VF VBK
C1 capacitor 10u: VF GND
C2 capacitor 100u: VBK GND
U1 chip BUCK: VIN=VBK GND=GND EN=VBK SW=SW BOOT=B FB=FB
C3 capacitor 100n: B SW
L2 inductor 10u: SW VO1
C4 capacitor 47u: VO1 GND
L3 inductor 1u: VO1 +5V
C5 capacitor 47u: +5V GND
R1 resistor 50k: VO1 FB
R2 resistor 10k: FB GND
J2 connector OUT: +5V GND
""",
        """
integrated buck at SW: VBK -> VO1
  L2; boot C3; driver U1, controller U1
""",
    ),
}


@pytest.mark.parametrize("name", BOARDS)
def test_stages_are_as_drawn(name):
    text, expected = BOARDS[name]
    assert told(text) == lines(expected)
