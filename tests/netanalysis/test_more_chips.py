"""Power managers, split rails, half-integrated converters, charge pumps of drivers.

Pin names as makers print them (common practice, no single source).  Every expected
line is our own output, gone over by eye.
"""

import pytest
from _told import lines, told

#: Board in shorthand (see `_stage_tables`) and its stages (see `_told`).
BOARDS = {
    "axp like pmic": (
        """
J1 connector IN: VSYS GND
C1 capacitor 10u: VSYS GND
U1 chip AXP: VIN1=VSYS LX1=LX1 DCDC1=VCC33 VIN2=VSYS LX2=LX2 DCDC2=VCPU ALDOIN=VSYS
+ ALDO1=VCCA ALDO2=VPLL DLDOIN=VCC33 DLDO1=VWIFI ELDOIN=VCC33 ELDO1=VCAM GND=GND
+ SCK=SCL SDA=SDA PWRON=PON
L1 inductor 1u: LX1 VCC33
L2 inductor 1u: LX2 VCPU
C2 capacitor 10u: VCC33 GND
C3 capacitor 10u: VCPU GND
C4 capacitor 4u7: VCCA GND
C5 capacitor 4u7: VPLL GND
C6 capacitor 4u7: VWIFI GND
C7 capacitor 4u7: VCAM GND
U2 chip SOC: VCC=VCC33 VDDCPU=VCPU AVCC=VCCA VPLL=VPLL GND=GND SCL=SCL SDA=SDA
U3 chip WIFI: VBAT=VWIFI GND=GND
U4 chip CAM: VDD=VCAM GND=GND
""",
        """
integrated buck at LX1: VSYS -> VCC33
  L1; driver U1, controller U1
integrated buck at LX2: VSYS -> VCPU
  L2; driver U1, controller U1
linear regulator: VSYS -> VCCA
  driver U1, controller U1
linear regulator: VSYS -> VPLL
  driver U1, controller U1
linear regulator: VCC33 -> VWIFI
  driver U1, controller U1
linear regulator: VCC33 -> VCAM
  driver U1, controller U1
""",
    ),
    "stpmic like": (
        """
J1 connector IN: VIN GND
C1 capacitor 10u: VIN GND
U1 chip PMIC: VIN=VIN BUCK1IN=VIN VLX1=LXA VOUT1=VDDCORE BUCK2IN=VIN VLX2=LXB
+ VOUT2=VDDQ LDO16IN=VIN LDO1OUT=VDDA LDO6OUT=VDDB LDO25IN=VIN LDO2OUT=VDDC GND=GND
+ PGND1=GND PGND2=GND SCL=SCL SDA=SDA
L1 inductor 1u: LXA VDDCORE
L2 inductor 1u: LXB VDDQ
C2 capacitor 22u: VDDCORE GND
C3 capacitor 22u: VDDQ GND
C4 capacitor 4u7: VDDA GND
C5 capacitor 4u7: VDDB GND
C6 capacitor 4u7: VDDC GND
U2 chip SOC: VDDC=VDDCORE VDDQ=VDDQ VDDA1=VDDA VDDA2=VDDB VDDA3=VDDC GND=GND
""",
        """
integrated buck at LXA: VIN -> VDDCORE
  L1; driver U1, controller U1
integrated buck at LXB: VIN -> VDDQ
  L2; driver U1, controller U1
linear regulator: VIN -> VDDA
  driver U1, controller U1
linear regulator: VIN -> VDDB
  driver U1, controller U1
linear regulator: VIN -> VDDC
  driver U1, controller U1
""",
    ),
    "da like names": (
        """
J1 connector IN: VIN GND
C1 capacitor 10u: VIN GND
U1 chip PMIC: VDD_BUCKCORE=VIN SWBUCKCORE=LXA VBUCKCORE=VC BUCK2_LX=LXB FB_BUCK2=VM
+ DCDC3_SW=LXC DCDC3_FB=VP GND=GND SCL=SCL SDA=SDA PVIN_BUCK2=VIN PVIN_DCDC3=VIN
L1 inductor 1u: LXA VC
L2 inductor 1u: LXB VM
L3 inductor 1u: LXC VP
C2 capacitor 22u: VC GND
C3 capacitor 22u: VM GND
C4 capacitor 22u: VP GND
U2 chip SOC: VDDC=VC VDDQ=VM VDDA=VP GND=GND
""",
        """
integrated buck at LXA: VIN -> VC
  L1; driver U1, controller U1
integrated buck at LXB: VIN -> VM
  L2; driver U1, controller U1
integrated buck at LXC: VIN -> VP
  L3; driver U1, controller U1
""",
    ),
    "split rail": (
        """
J1 connector IN: +5V GND
C1 capacitor 10u: +5V GND
U1 chip SPLIT: PVIN1=+5V PVIN2=+5V AVIN=+5V SW1=SWP SW2=SWN FB1=FBP FB2=FBN EN1=+5V
+ EN2=+5V GND=GND VREF=VREF
L1 inductor 4u7: +5V SWP
D1 schottky S: A=SWP K=+15V
C2 capacitor 10u: +15V GND
R1 resistor 100k: +15V FBP
R2 resistor 10k: FBP GND
L2 inductor 10u: SWN GND
D2 schottky S: K=SWN A=-15V
C3 capacitor 10u: GND -15V
R3 resistor 100k: -15V FBN
R4 resistor 10k: FBN VREF
J2 connector OUT: +15V GND -15V
""",
        """
integrated boost at SWP: +5V -> +15V
  high D1; L1; driver U1, controller U1
integrated buck-boost at SWN: +5V -> -15V
  low D2; L2; driver U1, controller U1
""",
    ),
    "half integrated buckboost": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip BB: VIN=VIN GND=GND VCC=VCC DR1H=HG DR1L=LG SW1=SW1 BOOT1=B1 SW2=SW2 BOOT2=B2
+ VOUT=VOUT FB=FB EN=EN SCL=SCL SDA=SDA
C9 capacitor 4u7: VCC GND
Q1 nmos N: G=HG D=VIN S=SW1
Q2 nmos N: G=LG D=SW1 S=GND
L1 inductor 4u7: SW1 SW2
C2 capacitor 100n: B1 SW1
C3 capacitor 100n: B2 SW2
C4 capacitor 47u: VOUT GND
R1 resistor 100k: VOUT FB
R2 resistor 10k: FB GND
J2 connector OUT: VOUT GND
""",
        """
buck-boost at SW1 SW2: VIN -> VOUT
  high Q1; low Q2; L1; boot C2 C3; driver U1, controller U1
  Q1.1 from U1.4
  Q2.1 from U1.5
""",
    ),
    "pfc boost": (
        """
J1 connector AC: L N
BR1 diode BRIDGE: +=VREC -=GND AC1=L AC2=N
C1 capacitor 470n: VREC GND
L1 inductor 300u: VREC SW
Q1 nmos N: G=G1 D=SW S=CS
R1 resistor 50m: CS GND
R2 resistor 10R: DRV G1
R3 resistor 10k: G1 GND
U1 chip PFC: VCC=+15V GND=GND GD=DRV CS=CS INV=FB COMP=CP ZCD=ZCD MULT=ML
C4 capacitor 10u: +15V GND
D1 diode FAST: A=SW K=HV
C2 capacitor 220u: HV GND
R4 resistor 1M: HV FB
R5 resistor 6k8: FB GND
J2 connector OUT: HV GND
""",
        """
boost at SW: VREC -> HV
  high D1; low Q1; L1; sense R1; driver U1, controller U1
  Q1.1 from U1.3 over R2; bleed R3
""",
    ),
    "ltc4020 like": (
        """
J1 connector IN: DCIN GND
C1 capacitor 47u: DCIN GND
RS1 resistor 5m: DCIN VINS
C2 capacitor 10u: VINS GND
U1 chip CHG: PVIN=VINS SENSVIN=DCIN SENSTOP=VINS TG1=TG1 BG1=BG1 SW1=SW1 BST1=BS1
+ TG2=TG2 BG2=BG2 SW2=SW2 BST2=BS2 SGND=GND PGND=GND INTVCC=IVCC SENSGND=SG
+ SENSBOT=SB VFB=FB CSP=CSPN CSN=CSNN BGATE=BGT BAT=VBAT VFBMAX=FBM
C3 capacitor 4u7: IVCC GND
C4 capacitor 1u: BS1 SW1
C5 capacitor 1u: BS2 SW2
D1 schottky S: A=IVCC K=BS1
D2 schottky S: A=IVCC K=BS2
Q1 nmos N: G=TG1 D=VINS S=SW1
Q2 nmos N: G=BG1 D=SW1 S=SB
Q3 nmos N: G=TG2 D=VSYS S=SW2
Q4 nmos N: G=BG2 D=SW2 S=SB
RS2 resistor 5m: SB GND
L1 inductor 10u: SW1 SW2
C6 capacitor 100u: VSYS GND
RS3 resistor 5m: VSYS CSNR
Q5 pmos P: G=BGT S=CSNR D=VBAT
R1 resistor 100R: VSYS CSPN
R2 resistor 100R: CSNR CSNN
C7 capacitor 22u: VBAT GND
J2 battery PACK: VBAT GND
R3 resistor 100k: VSYS FBM
R4 resistor 10k: FBM GND
R5 resistor 100k: VBAT FB
R6 resistor 10k: FB GND
U2 chip BUCK: VIN=VSYS GND=GND SW=SW5 FB=+5V BOOT=BO EN=VSYS
L2 inductor 4u7: SW5 +5V
C8 capacitor 100n: BO SW5
C9 capacitor 22u: +5V GND
""",
        """
buck-boost at SW1 SW2: VINS(DCIN) -> VSYS
  high Q1 Q3; low Q2 Q4; L1; boot C4 D1 C5 D2; sense RS2 RS1; driver U1, controller U1
  Q1.1 from U1.4
  Q2.1 from U1.5
  Q3.1 from U1.8
  Q4.1 from U1.9
load switch: CSNR(VSYS) -> VBAT
  high Q5; sense RS3; driver U1, controller U1
  Q5.1 from U1.20
integrated buck at SW5: VSYS -> +5V
  L2; boot C8; driver U2, controller U2
""",
    ),
    "brake chopper": (
        """
J1 connector IN: VBUS GND
C1 capacitor 470u: VBUS GND
U1 chip HBDRV: VDD=+12V HB=HB HO=HO HS=AUX HI=AH LI=AL LO=LO VSS=GND
C2 capacitor 1u: +12V GND
C3 capacitor 1u: HB AUX
Q1 nmos N: G=G1 D=VBUS S=AUX
Q2 nmos N: G=G2 D=AUX S=GND
R1 resistor 4R7: HO G1
R2 resistor 4R7: LO G2
J2 connector BRAKE: VBUS AUX
U2 chip MCU: P1=AH P2=AL VDD=+3V3 VSS=GND
""",
        """
half bridge at AUX: VBUS -> AUX
  high Q1; low Q2; boot C3; driver U1, controller U2
  Q1.1 from U1.3 over R1
  Q2.1 from U1.7 over R2
""",
    ),
    "two output buck chip": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip DUALBUCK: PVIN1=VIN PVIN2=VIN VIN=VIN BOOT1=B1 LX1=LX1 FB1=F1 EN1=VIN
+ BOOT2=B2 LX2=LX2 FB2=F2 EN2=VIN PGND=GND AGND=GND V7V=V7
C2 capacitor 47n: B1 LX1
C3 capacitor 47n: B2 LX2
L1 inductor 4u7: LX1 +5V
L2 inductor 3u3: LX2 +3V3
C4 capacitor 22u: +5V GND
C5 capacitor 22u: +3V3 GND
C6 capacitor 1u: V7 GND
R1 resistor 40k: +5V F1
R2 resistor 10k: F1 GND
R3 resistor 30k: +3V3 F2
R4 resistor 10k: F2 GND
J2 connector OUT: +5V +3V3 GND
""",
        """
integrated buck at LX1: VIN -> +5V
  L1; boot C2; driver U1, controller U1
integrated buck at LX2: VIN -> +3V3
  L2; boot C3; driver U1, controller U1
""",
    ),
    "usb host port switches": (
        """
J1 connector IN: +5V GND
C1 capacitor 47u: +5V GND
U1 chip SW2: IN=+5V GND=GND ENA=EA ENB=EB FLGA=FA FLGB=FB OUTA=VA OUTB=VB
C2 capacitor 100u: VA GND
C3 capacitor 100u: VB GND
J2 connector USBA: VA D1 D2 GND
J3 connector USBB: VB D3 D4 GND
U2 chip HUB: EA=EA EB=EB FA=FA FB=FB VDD=+3V3 GND=GND
""",
        """
load switch: +5V -> VA
  driver U1, controller U1
load switch: +5V -> VB
  driver U1, controller U1
""",
    ),
    "diode or and boost module": (
        """
J1 connector A: VA GND
J2 connector B: VB GND
D1 schottky S: A=VA K=VSYS
D2 schottky S: A=VB K=VSYS
C1 capacitor 10u: VSYS GND
U1 chip MT3608: SW=SW GND=GND FB=FB EN=VSYS IN=VSYS NC=-
L1 inductor 22u: VSYS SW
D3 schottky S: A=SW K=VOUT
C2 capacitor 22u: VOUT GND
R1 resistor 100k: VOUT FB
R2 resistor 10k: FB GND
J3 connector OUT: VOUT GND
""",
        """
integrated boost at SW: VSYS -> VOUT
  high D3; L1; driver U1, controller U1
""",
    ),
    "stepper charge pump": (
        """
J1 connector IN: VM GND
C1 capacitor 100u: VM GND
U1 chip STEP: VS=VM GND=GND CPO=CPO CPI=CPI VCP=VCP 5VOUT=+5VO VCC_IO=+3V3 OA1=OA1
+ OA2=OA2 OB1=OB1 OB2=OB2 BRA=BRA BRB=BRB STEP=ST DIR=DI
C2 capacitor 22n: CPO CPI
C3 capacitor 100n: VCP VM
C4 capacitor 4u7: +5VO GND
R1 resistor 110m: BRA GND
R2 resistor 110m: BRB GND
J2 connector MOT: OA1 OA2 OB1 OB2
J3 connector IO: +3V3 ST DI GND
C5 capacitor 100n: +3V3 GND
""",
        """
charge pump at CPO CPI: VM -> VCP
  driver U1, controller U1
""",
    ),
    "llc": (
        """
J1 connector HV: HV GND
C1 capacitor 100u: HV GND
U1 chip LLC: VCC=+12V GND=GND HVG=HG OUT=SW VBOOT=VB LVG=LG RFMIN=RF
C2 capacitor 100n: VB SW
C3 capacitor 10u: +12V GND
J3 connector AUX: +12V GND
Q1 nmos N: G=G1 D=HV S=SW
Q2 nmos N: G=G2 D=SW S=GND
R1 resistor 10R: HG G1
R2 resistor 10R: LG G2
L1 inductor 60u: SW TP
T1 transformer LLC: P1=TP P2=RES S1=SA S2=GND2 S3=SB
C4 capacitor 47n: RES GND
D1 schottky S: A=SA K=VOUT
D2 schottky S: A=SB K=VOUT
C5 capacitor 470u: VOUT GND2
J2 connector OUT: VOUT GND2
""",
        """
half bridge at SW: HV -> SW
  high Q1; low Q2; L1; boot C2; driver U1, controller U1
  Q1.1 from U1.3 over R1
  Q2.1 from U1.6 over R2
""",
    ),
    "discrete led buck low": (
        """
J1 connector IN: VIN GND
C1 capacitor 22u: VIN GND
U1 chip LEDC: VIN=VIN GND=GND GATE=DRV CS=CS VDD=VDD RT=RT PWMD=VDD
C2 capacitor 1u: VDD GND
Q1 nmos N: G=DRV D=SW S=CS
R1 resistor 270m: CS GND
L1 inductor 220u: LED- SW
D1 schottky S: A=SW K=VIN
J2 connector LED: VIN LED-
""",
        """
buck at SW: VIN -> LED-
  high D1; low Q1; L1; sense R1; driver U1, controller U1; missing output capacitors
  Q1.1 from U1.3
""",
    ),
}


@pytest.mark.parametrize("name", BOARDS)
def test_stages_are_as_drawn(name):
    text, expected = BOARDS[name]
    assert told(text) == lines(expected)
