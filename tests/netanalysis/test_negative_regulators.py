"""Negative regulators without pin names: their input is the supply farther from ground.

The 79xx family makes minus xx volts (makers' data sheets; common practice).
"""

import pytest
from _small_boards import board

from ohmtrail.netanalysis.recognise import recognise

BOARD = """
J1 - Connector:Conn_01x03 1:=+12V 2:=GND 3:=-12V
U1 {number} - 1:=GND 2:=-12V 3:={output} fp:TO-220
C1 10u Device:C 1:=-12V 2:=GND
C2 10u Device:C 1:={output} 2:=GND
U2 AMP - V+=+12V V-={output} IN+=a OUT=b
R1 1k Device:R 1:={output} 2:=GND
"""


@pytest.mark.parametrize("number", ["L7905", "X79L05"])
@pytest.mark.parametrize("output", ["-5V", "VNEG"])
def test_power_goes_from_the_deeper_supply(number, output):
    circuit = recognise(board(BOARD.format(number=number, output=output)), {})
    (stage,) = circuit.stages
    assert stage.kind == "linear regulator"
    assert (stage.input, stage.output) == ("-12V", output)
    rails = {rail.net: rail for rail in circuit.rails}
    assert (rails[output].volts, rails[output].source) == (-5.0, "U1")
