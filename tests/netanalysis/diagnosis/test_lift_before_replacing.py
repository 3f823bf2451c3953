"""A set that is most likely not the culprit is not thrown away to find out.

Lift, measure, put back: common practice (no source).
"""

from ohmtrail.netanalysis.diagnosis.next_action import next_action
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log

_SWITCHES = "".join(
    f"measure,,resistance,{ref}.5,{ref}.1,2.0,\nmeasure,,resistance,{ref}.4,{ref}.1,OL,\n"
    for ref in ("Q401", "Q501", "Q601")
)
#: Two faults, one of them no switch that was lifted so far.
TWO_FAULTS = f"""
measure,,resistance,VMAIN,GND,2.4,
measure,,resistance,VCORE_1V0,GND,0.5,
measure,,resistance,+5V,GND,4.0,
measure,,resistance,+5V,GND,4.0,
{_SWITCHES}lift,Q401,,,,,
measure,,resistance,VMAIN,GND,2.4,
lift,Q501,,,,,
measure,,resistance,VMAIN,GND,2.4,
lift,Q502,,,,,
measure,,resistance,VMAIN,GND,2.4,
lift,Q402,,,,,
measure,,resistance,VMAIN,GND,2.4,
lift,Q602,,,,,
measure,,resistance,VMAIN,GND,2.4,
"""
#: What cannot be reached, and what does not look burnt: nothing cheap is left to do.
_OUT_OF_REACH = "".join(
    f"measure,,resistance,{red},{black},n/a,\n"
    for red, black in (
        *((f"Net-(U{number}-VCC)", "GND") for number in (301, 401, 501, 601)),
        ("U204.1", "U204.7"),
        ("+1V1_MEM", "GND"),
        ("+5V_SONAR", "GND"),
    )
)
_LOOKED_AT = """
U601 U501 U401 U802 U803 U902 U301 D802 C401 C216 C501 C301 C601 C806 C217 C218 C271
C807 C272 C273 C921 C922 C801 C808 C810
""".split()
_LOOKS = "".join(f"look,{ref},,,,ok,\n" for ref in _LOOKED_AT)
HAVE = ("resistance", "diode")


def test_with_two_faults_a_chip_comes_off_rather_than_being_replaced_on_a_guess(
    demo, log_of
):
    rows = f"{TWO_FAULTS}{_OUT_OF_REACH}{_LOOKS}"
    found = weigh_log(case_of(demo, log_of(rows)))
    action = next_action(found, HAVE)
    assert action.action == "lift"
    assert action.part not in found.case.now.off
