"""What a format never holds is said when a board is summed up.

Expected lines: what IPC-D-356 and PADS net lists hold (their standards: refs, pins,
nets; no values, no pin names), worked out by hand.
"""

import json

import pytest
from _oracles import ROOT

RECORDS = """P  CODE 00
P  UNITS CUST 0
327VIN              Q1    -1          A01X+010000Y-000200X0512Y0591R180S1
327GND              Q1    -2          A01X+010100Y-000200X0512Y0591R180S1
327GATE             Q1    -3          A01X+010200Y-000200X0512Y0591R180S1
327GATE             R1    -1          A01X+010300Y-000200X0512Y0591R180S1
327GND              R1    -2          A01X+010400Y-000200X0512Y0591R180S1
999
"""
PADS = """!PADS-POWERPCB-V3.0-MILS!
*PART*
Q1 SOT23
R1 0603
*NET*
*SIGNAL* VIN
Q1.1
*SIGNAL* GND
Q1.2 R1.2
*SIGNAL* GATE
Q1.3 R1.1
"""
NO_VALUE = "no part has a value"
NO_NAME = "no pin of three and more has a name"
TABLE = """ref,pin,net,name,value
Q1,1,VIN,D,
Q1,2,GND,S,
Q1,3,GATE,G,
R1,1,GATE,,10R
R1,2,GND,,
"""


def warnings(ohmtrail, *arguments):
    answer = json.loads(ohmtrail("summary", *arguments, "--json").out)
    return {one["what"].partition(":")[0]: one["count"] for one in answer["warnings"]}


@pytest.mark.parametrize(("name", "text"), [("a.d356", RECORDS), ("a.asc", PADS)])
def test_a_file_without_values_and_names_says_so(name, text, ohmtrail, tmp_path):
    (tmp_path / name).write_text(text)
    told = warnings(ohmtrail, tmp_path / name)
    assert told[NO_VALUE] == 2
    assert told[NO_NAME] == 3
    screen = " ".join(ohmtrail("summary", tmp_path / name).out.split())
    assert NO_VALUE in screen
    assert NO_NAME in screen


def test_a_table_beside_it_settles_both(ohmtrail, tmp_path):
    (tmp_path / "a.d356").write_text(RECORDS)
    (tmp_path / "a.csv").write_text(TABLE)
    told = warnings(ohmtrail, tmp_path / "a.d356", "--with", tmp_path / "a.csv")
    assert NO_VALUE not in told
    assert NO_NAME not in told


def test_a_schematic_lacks_neither(ohmtrail):
    told = warnings(ohmtrail, ROOT / "fixtures/demo/sk4.kicad_sch")
    assert NO_VALUE not in told
    assert NO_NAME not in told
