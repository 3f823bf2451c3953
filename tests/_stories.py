"""Logs of one invented repair, told in pieces: phase B of the demo board.

Q501 and Q502 are the paralleled high sides of phase B, R511 and R512 their gate
resistors (2R2), U501.5 the driver output, U501.4 its switch node.
"""

HAVE = ("resistance", "diode", "four-wire", "drop")
PLAIN = ("resistance", "diode")

RAILS = """
measure,,resistance,VIN_19V,GND,60k,
measure,,resistance,VMAIN,GND,0.9,
measure,,resistance,VCORE_1V0,GND,0.7,
measure,,resistance,+5V,GND,1k9,
measure,,resistance,+3V3,GND,640,
"""
#: Channels and gates: phase B reads lower, its gate is punched.
STAGES = """
measure,,resistance,Q401.5,Q401.1,0.3,
measure,,resistance,Q501.5,Q501.1,0.2,
measure,,resistance,Q601.5,Q601.1,0.3,
measure,,resistance,Q401.4,Q401.1,4k98,
measure,,resistance,Q501.4,Q501.1,11.8,
measure,,resistance,Q601.4,Q601.1,4k97,
"""
LIFTED = """
lift,Q501,,,,,
measure,,resistance,VMAIN,GND,47k,
measure,Q501,resistance,Q501.5,Q501.1,0.2,off the board
measure,Q501,resistance,Q501.4,Q501.1,11.6,off the board
"""
FOUND = RAILS + STAGES + LIFTED
#: The new one alone: it blew at power-up.
ONE_NEW_DIED = f"""{FOUND}
fit,Q501,,,,new,
power,,,VIN_19V,GND,died,
"""
#: Both new, before power.
BOTH_NEW = f"""{FOUND}
fit,Q501,,,,new,
lift,Q502,,,,,
fit,Q502,,,,new,
measure,,resistance,VMAIN,GND,47k,
"""
#: The same repair where the driver's output died too, 3.0 ohms to its switch node:
#: through R511 it lies beside the punched gate (11.6), which reads 3.8 on the board.
DRIVER_DEAD = f"""{BOTH_NEW.replace("Q501.4,Q501.1,11.8", "Q501.4,Q501.1,3.8")}
measure,,resistance,Q501.4,Q501.1,5.4,
measure,,resistance,U501.5,Q501.1,3.2,
"""
