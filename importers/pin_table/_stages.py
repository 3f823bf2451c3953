"""What to trace of each stage kind: its parts, and how their pins join.

A part a line: ref, kind, value ("-" for none), then ``pin:name=net`` or ``pin=net``.
``@`` becomes the phase's number ("" with one phase), and refs of parts that each
phase has get their phase in front of the last digits.  Pin numbers follow common
packages: a power FET has its source on 1, its gate on 4 and its drain on 5.
"""

__all__ = ["ENTRY", "TEMPLATES", "Template"]

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Template:
    """Rows for one stage kind."""

    #: What every phase has.
    phase: str
    #: What all phases share.
    shared: str = ""


#: Without a stage: where power comes in.
ENTRY = """
J1 connector - 1=VIN 2=GND
F1 fuse - 1=VIN 2=VIN_F
D1 tvs - 1:K=VIN_F 2:A=GND
C1 capacitor - 1=VIN_F 2=GND
"""

_IN = "C8 capacitor - 1=VIN 2=GND\n"
_OUT = "C9 capacitor - 1=VOUT 2=GND\n"
_ENDS = """
J1 connector - 1=VIN 2=GND
J2 connector - 1=VOUT 2=GND
"""
_DIVIDER = """
R8 resistor - 1=VOUT@ 2=FB@
R9 resistor - 1=FB@ 2=GND
"""
_SNUBBER = """
R5 resistor - 1=SW@ 2=SNUB@
C3 capacitor - 1=SNUB@ 2=GND
"""
_PAIR_GATES = """
R1 resistor - 1=DRVH@ 2=GH@
R2 resistor - 1=DRVL@ 2=GL@
R3 resistor - 1=GH@ 2=SW@
R4 resistor - 1=GL@ 2=GND
"""
_DRIVER = (
    "U2 chip - 1:BOOT=BOOT@ 2:PWM=PWM@ 3:GND=GND 4:LGATE=DRVL@ 5:VCC=VDRV "
    "6:PHASE=SW@ 7:UGATE=DRVH@\n"
    "C1 capacitor - 1=BOOT@ 2=SW@\n"
)
_CONTROLLER = """
U1 chip - 1:VCC=VDRV 2:GND=GND 3:FB=VOUT {pwm}
C7 capacitor - 1=VDRV 2=GND
"""

TEMPLATES = {
    "synchronous buck": Template(
        _DRIVER
        + _PAIR_GATES
        + """
Q1 mosfet - 4:G=GH@ 5:D=VIN 1:S=SW@
Q2 mosfet - 4:G=GL@ 5:D=SW@ 1:S=GND
L1 inductor - 1=SW@ 2=VL@
R6 resistor 1m 1=VL@ 2=VOUT
"""
        + _SNUBBER
        + _IN
        + _OUT,
        _ENDS + _CONTROLLER,
    ),
    "buck": Template(
        """
U2 chip - 1:VIN=VIN 2:GND=GND 3:GATE=DRV@ 4:SW=SW@ 5:FB=FB@ 6:BOOT=BOOT@
C1 capacitor - 1=BOOT@ 2=SW@
R1 resistor - 1=DRV@ 2=GH@
R3 resistor - 1=GH@ 2=SW@
Q1 mosfet - 4:G=GH@ 5:D=VIN 1:S=SW@
D1 diode - 1:K=SW@ 2:A=GND
L1 inductor - 1=SW@ 2=VOUT@
C8 capacitor - 1=VIN 2=GND
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
"""
        + _DIVIDER
        + _SNUBBER,
        "J1 connector - 1=VIN 2=GND",
    ),
    "boost": Template(
        """
U2 chip - 1:VIN=VIN 2:GND=GND 3:GATE=DRV@ 4:CS=CS@ 5:FB=FB@
R1 resistor - 1=DRV@ 2=GL@
R3 resistor - 1=GL@ 2=CS@
L1 inductor - 1=VIN 2=SW@
Q1 mosfet - 4:G=GL@ 5:D=SW@ 1:S=CS@
R6 resistor 10m 1=CS@ 2=GND
D1 diode - 1:K=VOUT@ 2:A=SW@
C8 capacitor - 1=VIN 2=GND
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
"""
        + _DIVIDER,
        "J1 connector - 1=VIN 2=GND",
    ),
    "synchronous boost": Template(
        _DRIVER
        + _PAIR_GATES
        + """
L1 inductor - 1=VIN 2=SW@
Q1 mosfet - 4:G=GH@ 5:D=VOUT 1:S=SW@
Q2 mosfet - 4:G=GL@ 5:D=SW@ 1:S=GND
"""
        + _IN
        + _OUT,
        _ENDS + _CONTROLLER,
    ),
    "buck-boost": Template(
        """
U2 chip - 1:VIN=VIN 2:GND=GND 3:VCC=VDRV@ 4:FB=FB@
U2 chip - 5:BOOT1=BOOT_A@ 6:UGATE1=DRVH_A@ 7:SW1=SW_A@ 8:LGATE1=DRVL_A@
U2 chip - 9:BOOT2=BOOT_B@ 10:UGATE2=DRVH_B@ 11:SW2=SW_B@ 12:LGATE2=DRVL_B@
C1 capacitor - 1=BOOT_A@ 2=SW_A@
C2 capacitor - 1=BOOT_B@ 2=SW_B@
C3 capacitor - 1=VDRV@ 2=GND
R1 resistor - 1=DRVH_A@ 2=GH_A@
R2 resistor - 1=DRVL_A@ 2=GL_A@
R3 resistor - 1=DRVH_B@ 2=GH_B@
R4 resistor - 1=DRVL_B@ 2=GL_B@
Q1 mosfet - 4:G=GH_A@ 5:D=VIN 1:S=SW_A@
Q2 mosfet - 4:G=GL_A@ 5:D=SW_A@ 1:S=GND
L1 inductor - 1=SW_A@ 2=SW_B@
Q3 mosfet - 4:G=GH_B@ 5:D=VOUT@ 1:S=SW_B@
Q4 mosfet - 4:G=GL_B@ 5:D=SW_B@ 1:S=GND
C8 capacitor - 1=VIN 2=GND
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
"""
        + _DIVIDER,
        "J1 connector - 1=VIN 2=GND",
    ),
    "half bridge": Template(
        """
U2 chip - 1:VCC=VDRV 2:HIN=INH@ 3:LIN=INL@ 4:COM=GND 5:LO=DRVL@ 6:VS=SW@
U2 chip - 7:HO=DRVH@ 8:VB=BOOT@
C1 capacitor - 1=BOOT@ 2=SW@
D1 diode - 1:K=BOOT@ 2:A=VDRV
"""
        + _PAIR_GATES
        + """
Q1 mosfet - 4:G=GH@ 5:D=VIN 1:S=SW@
Q2 mosfet - 4:G=GL@ 5:D=SW@ 1:S=CS@
R6 resistor 1m 1=CS@ 2=GND
J2 connector - 1=SW@
C8 capacitor - 1=VIN 2=GND
""",
        "J1 connector - 1=VIN 2=GND\nC7 capacitor - 1=VDRV 2=GND",
    ),
    "full bridge leg": Template(
        """
U2 chip - 1:VCC=VDRV 2:HIN=INH_A@ 3:LIN=INL_A@ 4:COM=GND 5:LO=DRVL_A@ 6:VS=OUT_A@
U2 chip - 7:HO=DRVH_A@ 8:VB=BOOT_A@
U3 chip - 1:VCC=VDRV 2:HIN=INH_B@ 3:LIN=INL_B@ 4:COM=GND 5:LO=DRVL_B@ 6:VS=OUT_B@
U3 chip - 7:HO=DRVH_B@ 8:VB=BOOT_B@
C1 capacitor - 1=BOOT_A@ 2=OUT_A@
C2 capacitor - 1=BOOT_B@ 2=OUT_B@
D1 diode - 1:K=BOOT_A@ 2:A=VDRV
D2 diode - 1:K=BOOT_B@ 2:A=VDRV
R1 resistor - 1=DRVH_A@ 2=GH_A@
R2 resistor - 1=DRVL_A@ 2=GL_A@
R3 resistor - 1=DRVH_B@ 2=GH_B@
R4 resistor - 1=DRVL_B@ 2=GL_B@
Q1 mosfet - 4:G=GH_A@ 5:D=VIN 1:S=OUT_A@
Q2 mosfet - 4:G=GL_A@ 5:D=OUT_A@ 1:S=GND
Q3 mosfet - 4:G=GH_B@ 5:D=VIN 1:S=OUT_B@
Q4 mosfet - 4:G=GL_B@ 5:D=OUT_B@ 1:S=GND
J2 connector - 1=OUT_A@ 2=OUT_B@
C8 capacitor - 1=VIN 2=GND
""",
        "J1 connector - 1=VIN 2=GND\nC7 capacitor - 1=VDRV 2=GND",
    ),
    "flyback": Template(
        """
U2 chip - 1:VCC=VAUX@ 2:GND=GND 3:GATE=DRV@ 4:CS=CS@ 5:FB=FB@
R1 resistor - 1=DRV@ 2=GL@
R3 resistor - 1=GL@ 2=GND
T1 transformer - 1=VIN 2=SW@ 3=VSEC@ 4=GND
Q1 mosfet - 4:G=GL@ 5:D=SW@ 1:S=CS@
R6 resistor 10m 1=CS@ 2=GND
D1 diode - 1:K=VOUT@ 2:A=VSEC@
C7 capacitor - 1=VAUX@ 2=GND
C8 capacitor - 1=VIN 2=GND
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
"""
        + _DIVIDER,
        "J1 connector - 1=VIN 2=GND",
    ),
    "integrated buck": Template(
        """
U2 chip - 1:BOOT=BOOT@ 2:VIN=VIN 3:EN=EN@ 4:FB=FB@ 5:GND=GND 6:SW=SW@
C1 capacitor - 1=BOOT@ 2=SW@
L1 inductor - 1=SW@ 2=VOUT@
C8 capacitor - 1=VIN 2=GND
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
"""
        + _DIVIDER,
        "J1 connector - 1=VIN 2=GND",
    ),
    "integrated boost": Template(
        """
U2 chip - 1:SW=SW@ 2:GND=GND 3:FB=FB@ 4:EN=EN@ 5:VIN=VIN
L1 inductor - 1=VIN 2=SW@
D1 diode - 1:K=VOUT@ 2:A=SW@
C8 capacitor - 1=VIN 2=GND
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
"""
        + _DIVIDER,
        "J1 connector - 1=VIN 2=GND",
    ),
    "integrated buck-boost": Template(
        """
U2 chip - 1:VIN=VIN 2:L1=SW_A@ 3:GND=GND 4:L2=SW_B@ 5:VOUT=VOUT@ 6:FB=FB@ 7:EN=EN@
L1 inductor - 1=SW_A@ 2=SW_B@
C8 capacitor - 1=VIN 2=GND
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
"""
        + _DIVIDER,
        "J1 connector - 1=VIN 2=GND",
    ),
    "load switch": Template(
        """
Q1 mosfet - 4:G=GATE@ 5:D=VOUT@ 1:S=VIN
R1 resistor - 1=GATE@ 2=VIN
R2 resistor - 1=GATE@ 2=PULL@
Q2 mosfet - 1:G=EN@ 2:S=GND 3:D=PULL@
C8 capacitor - 1=VIN 2=GND
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
""",
        "J1 connector - 1=VIN 2=GND",
    ),
    "back-to-back pass": Template(
        """
U2 chip - 1:VIN=VIN 2:GND=GND 3:GATE=DRV@ 4:EN=EN@ 5:OUT=VOUT@
R1 resistor - 1=DRV@ 2=GATE@
R2 resistor - 1=GATE@ 2=MID@
Q1 mosfet - 4:G=GATE@ 5:D=VIN 1:S=MID@
Q2 mosfet - 4:G=GATE@ 5:D=VOUT@ 1:S=MID@
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
""",
        "J1 connector - 1=VIN 2=GND\nC8 capacitor - 1=VIN 2=GND",
    ),
    "ideal diode": Template(
        """
U2 chip - 1:IN=VIN@ 2:GND=GND 3:GATE=DRV@ 4:OUT=VOUT
R1 resistor - 1=DRV@ 2=GATE@
Q1 mosfet - 4:G=GATE@ 5:D=VOUT 1:S=VIN@
C8 capacitor - 1=VIN@ 2=GND
J1 connector - 1=VIN@ 2=GND
""",
        "J2 connector - 1=VOUT 2=GND\nC9 capacitor - 1=VOUT 2=GND",
    ),
    "linear regulator": Template(
        """
U2 chip - 1:VIN=VIN 2:GND=GND 3:EN=VIN 5:VOUT=VOUT@
C8 capacitor - 1=VIN 2=GND
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
""",
        "J1 connector - 1=VIN 2=GND",
    ),
    "charge pump": Template(
        """
U2 chip - 1:VIN=VIN 2:GND=GND 3:C+=CP@ 4:C-=CN@ 5:VOUT=VOUT@
C1 capacitor - 1=CP@ 2=CN@
C8 capacitor - 1=VIN 2=GND
C9 capacitor - 1=VOUT@ 2=GND
J2 connector - 1=VOUT@ 2=GND
""",
        "J1 connector - 1=VIN 2=GND",
    ),
}
