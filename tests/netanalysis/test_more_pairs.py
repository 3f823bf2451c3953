"""Two channels, paralleled switches, the halves of one package in different jobs.

As open-hardware designers draw them (common practice, no single source).  Every
expected line is our own output, gone over by eye.
"""

import pytest
from _told import lines, told

#: Board in shorthand (see `_stage_tables`) and its stages (see `_told`).
BOARDS = {
    "smart stages of three makers": (
        """
J1 connector IN: +12V GND
C1 capacitor 22u: +12V GND
J3 connector AUX: +5V GND
C9 capacitor 4u7: +5V GND
U1 chip MPH: PWM1=P1 PWM2=P2 PWM3=P3 VCC=+5V GND=GND VSEN=VCORE RGND=GND CSP1=I1
+ CSP2=I2 CSP3=I3 EN=EN
U2 chip STAGEA: PWM=P1 SKIP#=SK VDD=+5V BOOT=BA BOOT_R=BRA VIN=+12V VSW=SWA PGND=GND
+ IOUT=I1 REFIN=RF TAO=TA
U3 chip STAGEB: PWM=P2 FCCM=SK VCC=+5V PVCC=+5V BOOT=BB PHASE=PHB VIN=+12V SW=SWB
+ IMON=I2 REFIN=RF GND=GND PGND=GND
U4 chip STAGEC: PWM=P3 EN=EN VDRV=+5V VCC=+5V BOOT=BC PHASE=PHC VIN=+12V SW=SWC
+ IOUT=I3 REFIN=RF TOUT/FLT=TA LGND=GND PGND=GND GATEL=GLC
C2 capacitor 100n: BA BRA
C3 capacitor 100n: BB PHB
C4 capacitor 100n: BC PHC
L1 inductor 150n: SWA VCORE
L2 inductor 150n: SWB VCORE
L3 inductor 150n: SWC VCORE
C5 capacitor 470u: VCORE GND
J2 connector OUT: VCORE GND
""",
        """
synchronous buck at SWA: +12V -> VCORE
  high U2; low U2; L1; boot C2; driver U2, controller U1
synchronous buck at SWB: +12V -> VCORE
  high U3; low U3; L2; boot C3; driver U3, controller U1
synchronous buck at SWC: +12V -> VCORE
  high U4; low U4; L3; boot C4; driver U4, controller U1
""",
    ),
    "two channel controller": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip DUALCTL: VIN=VIN GND=GND INTVCC=IV TG1=T1 BG1=G1 SW1=S1 BOOST1=B1 SENSE1+=SA
+ SENSE1-=+5V VFB1=F1 TG2=T2 BG2=G2 SW2=S2 BOOST2=B2 SENSE2+=SB SENSE2-=+3V3 VFB2=F2
+ RUN1=VIN RUN2=VIN
D1 schottky S: A=IV K=B1
D2 schottky S: A=IV K=B2
C2 capacitor 100n: B1 S1
C3 capacitor 100n: B2 S2
C4 capacitor 4u7: IV GND
Q1 mosfet DUAL_N: S1=S1 G1=T1 S2=GND G2=G1 D2=S1 D1=VIN
Q2 mosfet DUAL_N: S1=S2 G1=T2 S2=GND G2=G2 D2=S2 D1=VIN
L1 inductor 4u7: S1 SA
L2 inductor 3u3: S2 SB
R1 resistor 8m: SA +5V
R2 resistor 8m: SB +3V3
C5 capacitor 150u: +5V GND
C6 capacitor 150u: +3V3 GND
R3 resistor 50k: +5V F1
R4 resistor 10k: F1 GND
R5 resistor 30k: +3V3 F2
R6 resistor 10k: F2 GND
J2 connector OUT: +5V +3V3 GND
""",
        """
synchronous buck at S1: VIN -> SA(+5V)
  high Q1; low Q1; L1; boot C2 D1; sense R1; driver U1, controller U1
  Q1.2 from U1.4
  Q1.4 from U1.5
synchronous buck at S2: VIN -> SB(+3V3)
  high Q2; low Q2; L2; boot C3 D2; sense R2; driver U1, controller U1
  Q2.2 from U1.11
  Q2.4 from U1.12
""",
    ),
    "hotswap two parallel fets kelvin": (
        """
J1 connector IN: VIN GND
C1 capacitor 10u: VIN GND
D1 tvs SMCJ: K=VIN A=GND
RS1 resistor 500u: VIN SNS
RS2 resistor 500u: VIN SNS
R1 resistor 10R: VIN SP
R2 resistor 10R: SNS SN
U1 chip HS: VDD=VIN SENSE+=SP SENSE-=SN GATE=GATE SOURCE=VOUT UV=UV OV=OV TIMER=T
+ GND=GND PG=PG ADR0=GND SDA=SDA SCL=SCL
Q1 nmos N: G=G1 D=SNS S=VOUT
Q2 nmos N: G=G2 D=SNS S=VOUT
R3 resistor 10R: GATE G1
R4 resistor 10R: GATE G2
C2 capacitor 1000u: VOUT GND
J2 connector OUT: VOUT GND
""",
        """
load switch: SNS(VIN) -> VOUT
  high Q1 Q2; sense RS1 RS2; driver U1, controller U1
  Q1.1 from U1.4 over R3
  Q2.1 from U1.4 over R4
""",
    ),
    "eight pin no names p load switch": (
        """
J1 connector IN: VIN GND
C1 capacitor 10u: VIN GND
Q1 mosfet P-MOSFET: VIN VIN VIN PG VOUT VOUT VOUT VOUT
R1 resistor 100k: PG VIN
R2 resistor 10k: PG QD
Q2 nmos N: G=EN S=GND D=QD
R3 resistor 100k: EN GND
U1 chip MCU: P1=EN VDD=+3V3 GND=GND
C2 capacitor 10u: VOUT GND
J2 connector OUT: VOUT GND
""",
        """
load switch: VIN -> VOUT
  high Q1; driver Q2, controller U1
  Q1.4 from Q2.3 over R2; bleed R1
""",
    ),
    "dual np complementary load switch": (
        """
J1 connector IN: VIN GND
C1 capacitor 10u: VIN GND
Q1 mosfet N-and-P-Channel: S1=GND G1=EN D1=QD S2=VIN G2=QD D2=VOUT
R1 resistor 100k: QD VIN
R3 resistor 100k: EN GND
U1 chip MCU: P1=EN VDD=+3V3 GND=GND
C2 capacitor 10u: VOUT GND
J2 connector OUT: VOUT GND
""",
        """
load switch: VIN -> VOUT
  high Q1; driver Q1, controller U1
  Q1.5 from Q1.3; bleed R1
""",
    ),
    "motor bridge with paralleled switches": (
        """
J1 connector BAT: VB GND
C1 capacitor 1000u: VB GND
J2 connector M: UA UB
U1 chip HB1: VDD=+12V HB=HBA HO=HOA HS=UA HI=PA1 LI=PA2 LO=LOA VSS=GND
U2 chip HB2: VDD=+12V HB=HBB HO=HOB HS=UB HI=PB1 LI=PB2 LO=LOB VSS=GND
C2 capacitor 1u: HBA UA
C3 capacitor 1u: HBB UB
Q1 nmos N: G=A1 D=VB S=UA
Q2 nmos N: G=A2 D=VB S=UA
Q3 nmos N: G=A3 D=UA S=SHA
Q4 nmos N: G=A4 D=UA S=SHA
R1 resistor 4R7: HOA A1
R2 resistor 4R7: HOA A2
R3 resistor 4R7: LOA A3
R4 resistor 4R7: LOA A4
Q5 nmos N: G=B1 D=VB S=UB
Q6 nmos N: G=B1 D=VB S=UB
Q7 nmos N: G=B3 D=UB S=SHB
Q8 nmos N: G=B3 D=UB S=SHB
R5 resistor 4R7: HOB B1
R6 resistor 4R7: LOB B3
RA resistor 1m: SHA GND
RB resistor 1m: SHB GND
U3 chip MCU: T1=PA1 T2=PA2 T3=PB1 T4=PB2 VDD=+3V3 VSS=GND
""",
        """
full bridge leg at UA: VB -> UA
  high Q1 Q2; low Q3 Q4; boot C2; sense RA; driver U1, controller U3
  Q1.1 from U1.3 over R1
  Q2.1 from U1.3 over R2
  Q3.1 from U1.7 over R3
  Q4.1 from U1.7 over R4
full bridge leg at UB: VB -> UB
  high Q5 Q6; low Q7 Q8; boot C3; sense RB; driver U2, controller U3
  Q5.1 from U2.3 over R5
  Q6.1 from U2.3 over R5
  Q7.1 from U2.7 over R6
  Q8.1 from U2.7 over R6
""",
    ),
    "boost sync controller": (
        """
J1 battery BAT: VBAT GND
C1 capacitor 47u: VBAT GND
RS resistor 5m: VBAT VBS
L1 inductor 3u3: VBS SW
Q1 nmos N: G=HG D=VOUT S=SW
Q2 nmos N: G=LG D=SW S=GND
U1 chip BST: VIN=VBAT VCC=VCC PGND=GND AGND=GND HO=HG LO=LG SW=SW BST=BS CSP=VBAT
+ CSN=VBS FB=FB
C2 capacitor 100n: BS SW
D1 schottky S: A=VCC K=BS
C3 capacitor 4u7: VCC GND
C4 capacitor 100u: VOUT GND
R1 resistor 100k: VOUT FB
R2 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
synchronous boost at SW: VBS(VBAT) -> VOUT
  high Q1; low Q2; L1; boot C2 D1; sense RS; driver U1, controller U1
  Q1.1 from U1.5
  Q2.1 from U1.6
""",
    ),
    "led strip four channels": (
        """
J1 connector IN: +12V GND
C1 capacitor 100u: +12V GND
J2 connector STRIP: +12V R- G- B-
Q1 nmos N: G=GR D=R- S=GND
Q2 nmos N: G=GG D=G- S=GND
Q3 nmos N: G=GB D=B- S=GND
R1 resistor 100R: PR GR
R2 resistor 100R: PG GG
R3 resistor 100R: PB GB
R4 resistor 10k: GR GND
R5 resistor 10k: GG GND
R6 resistor 10k: GB GND
U1 chip ESP: IO1=PR IO2=PG IO3=PB VDD=+3V3 GND=GND
""",
        """
load switch: R- -> GND
  low Q1; driver U1, controller U1
  Q1.1 from U1.1 over R1; bleed R4
load switch: G- -> GND
  low Q2; driver U1, controller U1
  Q2.1 from U1.2 over R2; bleed R5
load switch: B- -> GND
  low Q3; driver U1, controller U1
  Q3.1 from U1.3 over R3; bleed R6
""",
    ),
    "doubler shaken by a timer": (
        """
J1 connector IN: +9V GND
C1 capacitor 100u: +9V GND
U1 chip NE555: VCC=+9V GND=GND OUT=OSC TR=TR THR=TR DIS=DS R=+9V CV=CV
C2 capacitor 10u: OSC PMP
D1 diode 1N4148: A=+9V K=PMP
D2 diode 1N4148: A=PMP K=+17V
C3 capacitor 10u: +17V GND
J2 connector OUT: +17V GND
""",
        """
charge pump at OSC: +9V -> +17V
  driver U1, controller U1
""",
    ),
    "ideal diode with anode and cathode pins": (
        """
J1 connector IN: VIN GND
D1 tvs SMBJ33CA: 1:=VIN 2:=GND
Q1 nmos N: G=GT S=VIN D=VOUT
U1 chip IDEAL: ANODE=VIN CATHODE=VOUT GATE=GT VCAP=VC EN=VIN GND=GND
C1 capacitor 100n: VC VIN
C2 capacitor 47u: VOUT GND
J2 connector OUT: VOUT GND
""",
        """
ideal diode: VIN -> VOUT
  high Q1; driver U1, controller U1
  Q1.1 from U1.3
""",
    ),
    "gate bead and clamp synchronous buck dcr": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip CTRL: VIN=VIN GND=GND INTVCC=IV TG=TG BG=BG SW=SW BOOST=BO SENSE+=SP
+ SENSE-=VOUT VFB=FB ITH=IT RUN=RUN
Q1 nmos N: G=G1 D=VIN S=SW
Q2 nmos N: G=G2 D=SW S=GND
FB1 bead 30R@100MHz: TG G1
R1 resistor 1R: BG G2
D5 zener 12V: K=G1 A=SW
C8 capacitor 1n: G2 GND
C2 capacitor 100n: BO SW
D1 schottky S: A=IV K=BO
C3 capacitor 4u7: IV GND
L1 inductor 1u: SW VOUT
R2 resistor 2k: SW SP
C4 capacitor 100n: SP VOUT
C5 capacitor 220u: VOUT GND
R3 resistor 10k: VOUT FB
R4 resistor 3k: FB GND
R5 resistor 2R2: SW SNB
C6 capacitor 1n: SNB GND
J2 connector OUT: VOUT GND
""",
        """
synchronous buck at SW: VIN -> VOUT
  high Q1; low Q2; L1; boot C2 D1; sense R2 C4; snubber R5 C6; driver U1, controller U1
  Q1.1 from U1.4 over FB1
  Q2.1 from U1.5 over R1
""",
    ),
    "op amp current sink is no stage": (
        """
J1 connector IN: +12V GND
C1 capacitor 10u: +12V GND
J2 connector LOAD: DUT GND
U1 chip OPA: IN+=SET IN-=FBK OUT=OO V+=+12V V-=GND
Q1 nmos N: G=GT D=DUT S=FBK
R1 resistor 100R: OO GT
R2 resistor 100m: FBK GND
R3 resistor 10k: +12V SET
R4 resistor 1k: SET GND
""",
        """

""",
    ),
    "n high side with pump from micro": (
        """
J1 connector IN: VIN GND
C1 capacitor 10u: VIN GND
U1 chip MCU: P1=PUMP P2=ON VDD=+3V3 GND=GND
C2 capacitor 100n: PUMP PX
D1 diode 1N4148: A=VIN K=PX
D2 diode 1N4148: A=PX K=VG
C3 capacitor 1u: VG GND
R1 resistor 10k: VG GT
Q1 nmos N: G=GT D=VIN S=VOUT
Q2 nmos N: G=ON D=GT S=GND
C4 capacitor 100u: VOUT GND
J2 connector OUT: VOUT GND
""",
        """
load switch: VIN -> VOUT
  high Q1; driver Q2, controller U1
  Q1.1 from Q2.2
charge pump at PUMP: VIN -> VG
  driver U1, controller U1
""",
    ),
    "contactor with precharge": (
        """
J1 battery B: B+ B-
F1 fuse 30A: B+ BF
K1 relay CONT: A1=BF A2=KD COM=BF NO=OUT+
D1 diode F: A=KD K=BF
Q1 nmos N: G=KG D=KD S=B-
R1 resistor 100R: KO KG
R2 resistor 10k: KG B-
Q2 pmos P: G=PG S=BF D=PR
R3 resistor 100k: PG BF
R4 resistor 22k: PG QD
Q3 nmos N: G=PRE D=QD S=B-
R5 resistor 47R: PR OUT+
C1 capacitor 1000u: OUT+ B-
J2 connector OUT: OUT+ B-
U1 chip MCU: P1=KO P2=PRE VDD=+3V3 GND=B-
""",
        """
load switch: BF -> PR(OUT+)
  high Q2; driver Q3, controller U1
  Q2.1 from Q3.2 over R4; bleed R3
""",
    ),
}


@pytest.mark.parametrize("name", BOARDS)
def test_stages_are_as_drawn(name):
    text, expected = BOARDS[name]
    assert told(text) == lines(expected)
