"""Boards with several stages: battery, charger and carrier circuits.

As open-hardware designers draw them (common practice, no single source); every
expected line is our own output, gone over by eye.
"""

import pytest
from _told import lines, told

#: Board in shorthand (see `_stage_tables`) and its stages (see `_told`).
BOARDS = {
    "bms highside chg dsg": (
        """
J1 connector CELLS: BAT+ B1 BAT-
J2 connector PACK: PACK+ BAT-
F1 fuse 30A: BAT+ BATF
C1 capacitor 100n: BATF BAT-
C2 capacitor 100n: PACK+ BAT-
Q1 nmos N: G=GC1 D=MIDD S=BATF
Q2 nmos N: G=GC2 D=MIDD S=BATF
Q3 nmos N: G=GD1 D=MIDD S=PACK+
Q4 nmos N: G=GD2 D=MIDD S=PACK+
R1 resistor 100R: CHGG GC1
R2 resistor 100R: CHGG GC2
R3 resistor 100R: DSGG GD1
R4 resistor 100R: DSGG GD2
R5 resistor 5k1: CHG CHGG
R6 resistor 4k7: DSG DSGG
R7 resistor 10M: CHGG BATF
R8 resistor 10M: DSGG PACK+
U1 chip AFE: BAT=BATF VC1=B1 VSS=BAT- CHG=CHG DSG=DSG PACK=PACKS SRP=SRP SRN=SRN
+ CP1=CP1 LD=LDP
R9 resistor 10k: PACKS PACK+
R11 resistor 1m: BAT- SH
C5 capacitor 470n: CP1 BATF
""",
        """
back-to-back pass: BATF -> PACK+
  high Q1 Q2 Q3 Q4; driver U1, controller U1
  Q1.1 from U1.4 over R5 R1; bleed R7
  Q2.1 from U1.4 over R5 R2; bleed R7
  Q3.1 from U1.5 over R6 R3; bleed R8
  Q4.1 from U1.5 over R6 R4; bleed R8
""",
    ),
    "bms lowside chg dsg": (
        """
J1 connector CELLS: BAT+ B1 BAT-
C1 capacitor 100n: BAT+ BAT-
J2 connector PACK: BAT+ PACK-
U1 chip AFE: VCC=BAT+ VC1=B1 VSS=BAT- CHG=CHG DSG=DSG SRP=SRP SRN=SRN TS1=TS
RS1 resistor 1m: BAT- SHN
Q1 nmos N: G=GD S=SHN D=MID
Q2 nmos N: G=GC S=PACK- D=MID
R1 resistor 1k: DSG GD
R2 resistor 1M: GD SHN
R3 resistor 1k: CHG GC1
D1 diode 1N4148: A=GC1 K=GC
R4 resistor 1M: GC PACK-
R5 resistor 100R: SRP BAT-
R6 resistor 100R: SRN SHN
""",
        """
back-to-back pass: PACK- -> SHN
  low Q2 Q1; sense RS1; driver U1, controller U1
  Q2.1 from U1.4 over R3 D1; bleed R4
  Q1.1 from U1.5 over R1; bleed R2
""",
    ),
    "power mux chip": (
        """
J1 connector USB: VBUS GND
J2 connector EXT: VEXT GND
C1 capacitor 1u: VBUS GND
C2 capacitor 1u: VEXT GND
U1 chip PMUX: IN1=VBUS IN2=VEXT OUT=VSYS GND=GND ST=ST ILIM=IL D0=GND D1=GND
R1 resistor 1k: IL GND
C3 capacitor 10u: VSYS GND
J3 connector OUT: VSYS GND
""",
        """
load switch: VBUS -> VSYS
  driver U1, controller U1
load switch: VEXT -> VSYS
  driver U1, controller U1
""",
    ),
    "profet highside": (
        """
J1 connector BAT: +12V GND
C1 capacitor 10u: +12V GND
U1 chip PROFET: VBB=+12V IN=INA IS=IS OUT=LAMP OUT=LAMP GND=GNDX
R9 resistor 150R: GNDX GND
R1 resistor 4k7: PA0 INA
R2 resistor 1k2: IS GND
U2 chip MCU: PA0=PA0 PA1=IS VDD=+3V3 VSS=GND
J2 connector LAMP: LAMP GND
C2 capacitor 10n: LAMP GND
""",
        """
load switch: +12V -> LAMP
  driver U1, controller U1
""",
    ),
    "ldo en byp tl431 sot223": (
        """
J1 connector IN: +5V GND
C1 capacitor 10u: +5V GND
U1 chip LDO: IN=+5V GND=GND EN=+5V BP=BP OUT=+3V3A
C2 capacitor 10n: BP GND
C3 capacitor 1u: +3V3A GND
U2 chip TL431: REF=REF A=GND K=VREF25
R1 resistor 1k: +5V VREF25
R2 resistor 0R: REF VREF25
U3 chip AMS1117-3.3: 1:GND=GND 2:VO=+3V3 3:VI=+5V 4:TAB=+3V3
C4 capacitor 22u: +3V3 GND
U4 chip DUALLDO: VIN=+5V GND=GND EN1=+5V EN2=+5V VOUT1=+1V8 VOUT2=+2V8
C5 capacitor 1u: +1V8 GND
C6 capacitor 1u: +2V8 GND
J2 connector OUT: +3V3 +1V8 +2V8 +3V3A VREF25 GND
""",
        """
linear regulator: +5V -> +3V3A
  driver U1, controller U1
linear regulator: +5V -> +3V3
  driver U3, controller U3
linear regulator: +5V -> +1V8
  driver U4, controller U4
linear regulator: +5V -> +2V8
  driver U4, controller U4
""",
    ),
    "discrete p pass bjt linear": (
        """
J1 connector IN: VIN GND
C1 capacitor 10u: VIN GND
Q1 pnp P: E=VIN B=QB C=+5V
R1 resistor 1k: VIN QB
U1 chip TL431: REF=RF A=GND K=KK
R4 resistor 100R: QB KK
R2 resistor 10k: +5V RF
R3 resistor 10k: RF GND
C2 capacitor 10u: +5V GND
J2 connector OUT: +5V GND
""",
        """
linear regulator: VIN -> +5V
  high Q1; driver U1, controller U1
  Q1.2 from U1.3 over R4; bleed R1
""",
    ),
    "usb pd src and sink two pairs": (
        """
J1 connector USBC: VBUS=VBUS GND=GND CC1=CC1 CC2=CC2
C1 capacitor 4u7: VBUS GND
U1 chip PDDRP: VBUS=VBUS CC1=CC1 CC2=CC2 GATE_VSYS1=PGA GATE_VSYS2=PGB GATE_VBUS=PGS
+ VSYS=VSYS VDD33=V33 GND=GND
C9 capacitor 1u: V33 GND
Q1 nmos N: G=PGA S=M1 D=VBUS
Q2 nmos N: G=PGA S=M1 D=VSYS
Q3 nmos N: G=PGS S=M2 D=+5V
Q4 nmos N: G=PGS S=M2 D=VBUS
C2 capacitor 22u: VSYS GND
C3 capacitor 22u: +5V GND
U2 chip BUCK: VIN=VSYS GND=GND SW=SW FB=FB BST=B EN=VSYS
L1 inductor 10u: SW +5V
C4 capacitor 100n: B SW
R2 resistor 50k: +5V FB
R3 resistor 10k: FB GND
""",
        """
back-to-back pass: VBUS -> VSYS
  high Q1 Q2; driver U1, controller U1
  Q1.1 from U1.4
  Q2.1 from U1.4
back-to-back pass: +5V -> VBUS
  high Q3 Q4; driver U1, controller U1
  Q3.1 from U1.6
  Q4.1 from U1.6
integrated buck at SW: VSYS -> +5V
  L1; boot C4; driver U2, controller U2
""",
    ),
    "sbc carrier misc": (
        """
J1 connector DC: VIN GND
F1 fuse 3A: VIN VINF
D1 tvs SMBJ24A: K=VINF A=GND
Q1 pmos P: G=PG D=VINF S=VSYS
R1 resistor 100k: PG GND
D2 zener 12V: K=VSYS A=PG
C1 capacitor 47u: VSYS GND
U1 chip BUCK5: VIN=VSYS GND=GND EN=EN5 SW=SW5 BOOT=BO5 FB=FB5 PG=PG5
C2 capacitor 100n: BO5 SW5
L1 inductor 4u7: SW5 +5V
C3 capacitor 47u: +5V GND
R2 resistor 52k: +5V FB5
R3 resistor 10k: FB5 GND
C4 capacitor 22p: +5V FB5
U2 chip BUCK33: IN=+5V GND=GND EN=PG5 SW=SW3 FB=+3V3
L2 inductor 2u2: SW3 +3V3
C5 capacitor 22u: +3V3 GND
U3 chip USBSW: IN=+5V GND=GND EN=UEN ~{FLG}=OCN OUT=VUSB
C6 capacitor 150u: VUSB GND
J2 connector USBA: VUSB DM DP GND
Q2 nmos N: G=+1V8 S=SCL18 D=SCL33
R4 resistor 4k7: SCL18 +1V8
R5 resistor 4k7: SCL33 +3V3
U4 chip LDO18: IN=+3V3 OUT=+1V8 GND=GND EN=+3V3 NC=-
C7 capacitor 1u: +1V8 GND
Q3 nmos N: G=PERST_EN S=GND D=PERSTN
R6 resistor 10k: PERSTN +3V3
Q4 pmos P: G=WG S=+3V3 D=+3V3_WIFI
R7 resistor 10k: WG +3V3
Q5 nmos N: G=WIFI_EN S=GND D=WG
R8 resistor 100k: WIFI_EN GND
C8 capacitor 10u: +3V3_WIFI GND
J3 connector M2: +3V3_WIFI GND PERSTN WIFI_EN SCL33
Q6 nmos N: G=FANP S=GND D=FANN
J4 connector FAN: +5V FANN TACH
D3 schottky S: A=FANN K=+5V
R9 resistor 100R: FANPWM FANP
R10 resistor 10k: FANP GND
U5 chip SOM: VIN=+5V VDDIO=+3V3 FPWM=FANPWM SCL=SCL18 GND=GND
""",
        """
ideal diode: VINF -> VSYS
  high Q1; driver None, controller None
  Q1.1 from None
integrated buck at SW5: VSYS -> +5V
  L1; boot C2; driver U1, controller U1
integrated buck at SW3: +5V -> +3V3
  L2; driver U2, controller U2
load switch: +5V -> VUSB
  driver U3, controller U3
linear regulator: +3V3 -> +1V8
  driver U4, controller U4
load switch: +3V3 -> +3V3_WIFI
  high Q4; driver Q5, controller None
  Q4.1 from Q5.3; bleed R7
load switch: FANN -> GND
  low Q6; driver U5, controller U5
  Q6.1 from U5.3 over R9; bleed R10
""",
    ),
    "nvdc charger": (
        """
J1 connector USBC: VBUS GND
C1 capacitor 10u: VBUS GND
R1 resistor 10m: VBUS ACN_IN
C2 capacitor 10u: ACN_IN GND
Q1 nmos N: G=HG1 D=ACN_IN S=SW1
Q2 nmos N: G=LG1 D=SW1 S=GND
L1 inductor 2u2: SW1 SW2
Q3 nmos N: G=HG2 D=VSYS S=SW2
Q4 nmos N: G=LG2 D=SW2 S=GND
C3 capacitor 47u: VSYS GND
R2 resistor 5m: VSYS SRP_N
Q5 pmos P: G=BATG S=SRP_N D=VBATT
C8 capacitor 1u: SRP_N GND
C4 capacitor 10u: VBATT GND
J2 battery PACK: VBATT GND
U1 chip NVDC: VBUS=VBUS ACP=VBUS ACN=ACN_IN HIDRV1=HG1 LODRV1=LG1 SW1=SW1 BTST1=B1
+ HIDRV2=HG2 LODRV2=LG2 SW2=SW2 BTST2=B2 VSYS=VSYS SRP=SRP_N SRN=VBATT BATDRV=BATG
+ REGN=REGN GND=GND SCL=SCL SDA=SDA
C5 capacitor 47n: B1 SW1
C6 capacitor 47n: B2 SW2
C7 capacitor 2u2: REGN GND
U2 chip BUCK: VIN=VSYS GND=GND SW=SW5 FB=FB5 BST=BB EN=VSYS
L2 inductor 4u7: SW5 +5V
C90 capacitor 100n: BB SW5
C91 capacitor 22u: +5V GND
R90 resistor 50k: +5V FB5
R91 resistor 10k: FB5 GND
""",
        """
buck-boost at SW1 SW2: ACN_IN(VBUS) -> VSYS
  high Q1 Q3; low Q2 Q4; L1; boot C5 C6; sense R1; driver U1, controller U1
  Q1.1 from U1.4
  Q2.1 from U1.5
  Q3.1 from U1.8
  Q4.1 from U1.9
load switch: SRP_N(VSYS) -> VBATT
  high Q5; sense R2; driver U1, controller U1
  Q5.1 from U1.15
integrated buck at SW5: VSYS -> +5V
  L2; boot C90; driver U2, controller U2
""",
    ),
    "integrated charger nvdc": (
        """
J1 connector USB: VBUS GND
C1 capacitor 1u: VBUS GND
U1 chip CHG: VBUS=VBUS PMID=PMID SW=SW BTST=BT REGN=RG PGND=GND SYS=VSYS BAT=VBAT
+ TS=TS SCL=SCL SDA=SDA CE=CE OTG=OTG
C2 capacitor 10u: PMID GND
C3 capacitor 47n: BT SW
C4 capacitor 4u7: RG GND
L1 inductor 2u2: SW VSYS
C5 capacitor 22u: VSYS GND
C6 capacitor 10u: VBAT GND
J2 battery B: VBAT GND
U2 chip LDO-3.3: VIN=VSYS GND=GND EN=VSYS VOUT=+3V3
C7 capacitor 1u: +3V3 GND
""",
        """
integrated buck at SW: VBUS -> VSYS
  L1; boot C3; driver U1, controller U1
linear regulator: VSYS -> +3V3
  driver U2, controller U2
""",
    ),
    "solar charger with backfeed pair": (
        """
J1 connector PV: PV+ GND
C1 capacitor 470u: PV+ GND
Q1 nmos N: G=BFG D=PV+ S=PVM
Q2 nmos N: G=BFG D=VB1 S=PVM
Q3 nmos N: G=HG D=VB1 S=SW
Q4 nmos N: G=LG D=SW S=GND
C9 capacitor 100u: VB1 GND
U1 chip HBDRV: VCC=+12V IN=PWM SD=SD COM=GND VB=VB HO=HO VS=SW LO=LO
R1 resistor 10R: HO HG
R2 resistor 10R: LO LG
D1 diode UF: A=+12V K=VB
C2 capacitor 1u: VB SW
L1 inductor 33u: SW BAT+
C3 capacitor 470u: BAT+ GND
J2 connector BATT: BAT+ GND
U2 chip MCU: PA0=PWM PA1=SD PA2=BFE VDD=+3V3 VSS=GND
C8 capacitor 1u: +3V3 GND
C7 capacitor 1u: +12V GND
J3 connector AUX: +12V +3V3 GND
U3 chip BFDRV: VDD=+12V GND=GND IN=BFE OUT=BFO SRC=PVM
R3 resistor 100R: BFO BFG
R4 resistor 100k: BFG PVM
""",
        """
back-to-back pass: PV+ -> VB1
  high Q1 Q2; driver U3, controller U2
  Q1.1 from U3.4 over R3; bleed R4
  Q2.1 from U3.4 over R3; bleed R4
synchronous buck at SW: VB1 -> BAT+
  high Q3; low Q4; L1; boot C2 D1; driver U1, controller U2
  Q3.1 from U1.6 over R1
  Q4.1 from U1.8 over R2
""",
    ),
}


@pytest.mark.parametrize("name", BOARDS)
def test_stages_are_as_drawn(name):
    text, expected = BOARDS[name]
    assert told(text) == lines(expected)
