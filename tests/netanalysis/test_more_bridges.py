"""Loads switched low, half and full bridges with chip drivers; signals are no stages.

Topologies as in Erickson, Maksimovic, Fundamentals of Power Electronics, 2nd ed.,
chapters 4 and 6.  Every expected line is our own output, gone over by eye.
"""

import pytest
from _told import lines, told

#: Board in shorthand (see `_stage_tables`) and its stages (see `_told`).
BOARDS = {
    "signal fets": (
        """
J1 connector IN: +5V GND +3V3
C1 capacitor 10u: +5V GND
C2 capacitor 10u: +3V3 GND
Q1 nmos N: G=+3V3 S=SDA_L D=SDA_H
R1 resistor 10k: SDA_L +3V3
R2 resistor 10k: SDA_H +5V
Q2 nmos N: G=LG D=LK S=GND
R3 resistor 1k: +5V LA
D1 led RED: A=LA K=LK
Q3 nmos N: G=BZ D=BZ- S=GND
BZ1 other BUZZER: +5V BZ-
D2 diode S: A=BZ- K=+5V
Q4 npn N: B=RSTB C=NRST E=GND
R5 resistor 10k: NRST +3V3
R6 resistor 10k: DTR RSTB
U1 chip MCU: VDD=+3V3 VSS=GND NRST=NRST SDA=SDA_L PA0=LG PA1=BZ
U2 chip SENS: VDD=+5V GND=GND SDA=SDA_H
U3 chip UART: DTR=DTR VCC=+3V3 GND=GND
""",
        """

""",
    ),
    "relay driver": (
        """
J1 connector IN: +5V GND
C1 capacitor 10u: +5V GND
K1 relay R: A1=+5V A2=RD COM=C NO=N
D1 diode 1N4148: A=RD K=+5V
Q1 npn N: B=B1 C=RD E=GND
R1 resistor 1k: GPIO B1
U1 chip MCU: PA0=GPIO VDD=+5V VSS=GND PA1=X
J2 connector CT: C N
""",
        """

""",
    ),
    "dc motor lowside": (
        """
J1 connector IN: +12V GND
C1 capacitor 100u: +12V GND
J2 connector MOTOR: +12V MOT-
D1 diode SS34: A=MOT- K=+12V
Q1 nmos N: G=G1 D=MOT- S=GND
R1 resistor 100R: PWM G1
R2 resistor 10k: G1 GND
U1 chip MCU: PA0=PWM VDD=+3V3 VSS=GND PA1=X
""",
        """
load switch: MOT- -> GND
  low Q1; driver U1, controller U1
  Q1.1 from U1.1 over R1; bleed R2
""",
    ),
    "valve solenoid generic netname": (
        """
J1 connector IN: +24V GND
C1 capacitor 100u: +24V GND
J2 connector VALVE: +24V OUT1
D1 diode S: A=OUT1 K=+24V
Q1 nmos N: G=G1 D=OUT1 S=GND
R1 resistor 100R: PWM G1
R2 resistor 10k: G1 GND
U1 chip MCU: PA0=PWM VDD=+3V3 VSS=GND PA1=X
""",
        """
load switch: OUT1 -> GND
  low Q1; driver U1, controller U1
  Q1.1 from U1.1 over R1; bleed R2
""",
    ),
    "heater bed": (
        """
J1 connector IN: +24V GND
C1 capacitor 470u: +24V GND
F1 fuse 15A: +24V BEDV
J2 connector BED: BEDV BED_N
Q1 nmos N: G=G1 D=BED_N S=GND
R1 resistor 10R: BEDPWM G1
R2 resistor 100k: G1 GND
D1 led RED: A=LA K=BED_N
R3 resistor 2k2: BEDV LA
U1 chip MCU: PA0=BEDPWM PA1=FANPWM VDD=+3V3 VSS=GND
J3 connector FAN: +24V FAN_N
Q2 nmos N: G=G2 D=FAN_N S=GND
R4 resistor 10R: FANPWM G2
R5 resistor 100k: G2 GND
D2 schottky S: A=FAN_N K=+24V
""",
        """
load switch: BED_N -> GND
  low Q1; driver U1, controller U1
  Q1.1 from U1.1 over R1; bleed R2
load switch: FAN_N -> GND
  low Q2; driver U1, controller U1
  Q2.1 from U1.2 over R4; bleed R5
""",
    ),
    "three phase motor with shunts": (
        """
J1 connector BAT: VBAT GND
C1 capacitor 680u: VBAT GND
J2 connector MOTOR: PHA PHB PHC
U1 chip GATEDRV3: VM=VBAT GND=GND GHA=GHA SHA=PHA GLA=GLA SLA=SA GHB=GHB SHB=PHB
+ GLB=GLB SLB=SB GHC=GHC SHC=PHC GLC=GLC SLC=SC INHA=IA INLA=JA INHB=IB INLB=JB
+ INHC=IC INLC=JC CPH=CPH CPL=CPL VCP=VCP SOA=SOA SOB=SOB DVDD=DV
C8 capacitor 47n: CPH CPL
C9 capacitor 1u: VCP VBAT
C10 capacitor 1u: DV GND
U2 chip MCU: PA0=IA PA1=JA PA2=IB PA3=JB PA4=IC PA5=JC PA6=SOA PA7=SOB VDD=+3V3
+ VSS=GND
C11 capacitor 1u: +3V3 GND
Q1 nmos N: G=G1 D=VBAT S=PHA
Q2 nmos N: G=G2 D=PHA S=SA
Q3 nmos N: G=G3 D=VBAT S=PHB
Q4 nmos N: G=G4 D=PHB S=SB
Q5 nmos N: G=G5 D=VBAT S=PHC
Q6 nmos N: G=G6 D=PHC S=SC
R1 resistor 4R7: GHA G1
R2 resistor 4R7: GLA G2
R3 resistor 4R7: GHB G3
R4 resistor 4R7: GLB G4
R5 resistor 4R7: GHC G5
R6 resistor 4R7: GLC G6
R11 resistor 500u: SA GND
R12 resistor 500u: SB GND
R13 resistor 500u: SC GND
""",
        """
charge pump at CPH CPL: VBAT -> VCP
  driver U1, controller U1
half bridge at PHA: VBAT -> PHA
  high Q1; low Q2; sense R11; driver U1, controller U2
  Q1.1 from U1.3 over R1
  Q2.1 from U1.5 over R2
half bridge at PHB: VBAT -> PHB
  high Q3; low Q4; sense R12; driver U1, controller U2
  Q3.1 from U1.7 over R3
  Q4.1 from U1.9 over R4
half bridge at PHC: VBAT -> PHC
  high Q5; low Q6; sense R13; driver U1, controller U2
  Q5.1 from U1.11 over R5
  Q6.1 from U1.13 over R6
""",
    ),
    "iso driver halfbridge": (
        """
J1 connector HV: HV+ HV-
C1 capacitor 10u: HV+ HV-
J2 connector OUT: SWN HV-
U1 chip ISODRV: INA=PA INB=PB VCCI=+3V3 GNDI=GND DISABLE=GND DT=DT VDDA=VBH OUTA=OA
+ VSSA=SWN VDDB=+12V OUTB=OB VSSB=HV-
D1 diode FAST: A=+12V K=VBH
C2 capacitor 1u: VBH SWN
C3 capacitor 1u: +12V HV-
J3 connector AUX: +12V HV-
Q1 nmos N: G=G1 D=HV+ S=SWN
Q2 nmos N: G=G2 D=SWN S=HV-
R1 resistor 10R: OA G1
R2 resistor 10R: OB G2
R3 resistor 10k: G1 SWN
R4 resistor 10k: G2 HV-
U2 chip MCU: PA0=PA PA1=PB VDD=+3V3 VSS=GND
C5 capacitor 1u: +3V3 GND
J4 connector LV: +3V3 GND
""",
        """
half bridge at SWN: HV+ -> SWN
  high Q1; low Q2; boot C2 D1; driver U1, controller U2
  Q1.1 from U1.8 over R1; bleed R3
  Q2.1 from U1.11 over R2; bleed R4
""",
    ),
    "two half bridge chips": (
        """
J1 connector IN: VM GND
C1 capacitor 470u: VM GND
J2 connector MOT: MA MB
U1 chip IR2104: VCC=+12V IN=P1 SD=SD COM=GND LO=LO1 VS=MA HO=HO1 VB=VB1
U2 chip IR2104: VCC=+12V IN=P2 SD=SD COM=GND LO=LO2 VS=MB HO=HO2 VB=VB2
D1 diode UF4007: A=+12V K=VB1
D2 diode UF4007: A=+12V K=VB2
C2 capacitor 1u: VB1 MA
C3 capacitor 1u: VB2 MB
Q1 nmos N: G=G1 D=VM S=MA
Q2 nmos N: G=G2 D=MA S=GND
Q3 nmos N: G=G3 D=VM S=MB
Q4 nmos N: G=G4 D=MB S=SH
R1 resistor 22R: HO1 G1
R2 resistor 22R: LO1 G2
R3 resistor 22R: HO2 G3
R4 resistor 22R: LO2 G4
R5 resistor 10m: SH GND
D3 diode 1N4148: A=G1 K=HO1
D4 diode 1N4148: A=G2 K=LO1
D5 zener 15V: K=G2 A=GND
U3 chip MCU: P1=P1 P2=P2 P3=SD VDD=+3V3 VSS=GND
C8 capacitor 10u: +12V GND
J3 connector AUX: +12V +3V3 GND
""",
        """
full bridge leg at MA: VM -> MA
  high Q1; low Q2; boot C2 D1; driver U1, controller U3
  Q1.1 from U1.7 over R1; off D3
  Q2.1 from U1.5 over R2; off D4
full bridge leg at MB: VM -> MB
  high Q3; low Q4; boot C3 D2; sense R5; driver U2, controller U3
  Q3.1 from U2.7 over R3
  Q4.1 from U2.5 over R4
""",
    ),
    "chip hbridge gate driver": (
        """
J1 connector IN: VM GND
C1 capacitor 470u: VM GND
J2 connector MOT: MA MB
U1 chip DRV87: VM=VM GND=GND GH1=GH1 SH1=MA GL1=GL1 GH2=GH2 SH2=MB GL2=GL2 SP=SPS
+ SN=GND IN1=P1 IN2=P2 nSLEEP=SL VCP=VCP CPH=CPH CPL=CPL AVDD=AV DVDD=DV SO=SO
+ VREF=+3V3
C2 capacitor 100n: CPH CPL
C3 capacitor 1u: VCP VM
Q1 nmos N: G=GH1 D=VM S=MA
Q2 nmos N: G=GL1 D=MA S=SPS
Q3 nmos N: G=GH2 D=VM S=MB
Q4 nmos N: G=GL2 D=MB S=SPS
R5 resistor 10m: SPS GND
U3 chip MCU: P1=P1 P2=P2 P3=SL P4=SO VDD=+3V3 VSS=GND
C5 capacitor 1u: +3V3 GND
J3 connector AUX: +3V3 GND
""",
        """
charge pump at CPH CPL: VM -> VCP
  driver U1, controller U1
full bridge leg at MA: VM -> MA
  high Q1; low Q2; sense R5; driver U1, controller U3
  Q1.1 from U1.3
  Q2.1 from U1.5
full bridge leg at MB: VM -> MB
  high Q3; low Q4; sense R5; driver U1, controller U3
  Q3.1 from U1.6
  Q4.1 from U1.8
""",
    ),
    "active bridge rectifier": (
        """
J1 connector AC: AC1 AC2
U1 chip IDEALBRIDGE: IN1=AC1 IN2=AC2 TG1=T1 TG2=T2 BG1=B1 BG2=B2 OUTP=VP OUTN=GND
Q1 nmos N: G=T1 S=AC1 D=VP
Q2 nmos N: G=T2 S=AC2 D=VP
Q3 nmos N: G=B1 D=AC1 S=GND
Q4 nmos N: G=B2 D=AC2 S=GND
C1 capacitor 470u: VP GND
J2 connector OUT: VP GND
""",
        """
ideal diode: AC1 -> VP
  high Q1; low Q3; driver U1, controller U1
  Q1.1 from U1.3
  Q3.1 from U1.5
ideal diode: AC2 -> VP
  high Q2; low Q4; driver U1, controller U1
  Q2.1 from U1.4
  Q4.1 from U1.6
""",
    ),
}


@pytest.mark.parametrize("name", BOARDS)
def test_stages_are_as_drawn(name):
    text, expected = BOARDS[name]
    assert told(text) == lines(expected)
