"""What a rail of unknown volts may read by nature.

TRADE: a core rail may honestly read a fraction of an ohm, an input rail kilo-ohms.
That a battery, an adapter or a motor supply is no core's is common practice, no source.
"""

import pytest
from _small_boards import board

from ohmtrail.netanalysis.diagnosis.injection_floor import floors_of
from ohmtrail.netanalysis.diagnosis.least_volts import volts_at_least
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.inject import inject
from ohmtrail.netanalysis.recognise import recognise

BOARD = """
J1 - Connector:Conn_01x02 {rail} GND
F1 10A Device:Fuse {rail} FUSED
C1 100u Device:C FUSED GND
C2 100n Device:C FUSED GND
U1 ASIC Lib:ASIC VDD=FUSED GND=GND IO1=a IO2=b
R1 10k Device:R a GND
R2 10k Device:R b GND
"""


def healthy(rail, ohms, log_of):
    """Return the chance that nothing is wrong where a rail reads so much."""
    circuit = recognise(board(BOARD.format(rail=rail)))
    assert not any(one.volts for one in circuit.rails)
    log = log_of(f"measure,,resistance,net:{rail},GND,{ohms},", circuit)
    found = weigh_log(case_of(circuit, log)).weighed
    return sum(one.probability for one in found if not one.hypothesis.faults)


@pytest.mark.parametrize("rail", ["VBAT", "DC_IN", "/Power/SOLAR+", "VMOT"])
def test_half_an_ohm_on_a_battery_is_a_fault(rail, log_of):
    assert healthy(rail, 0.5, log_of) < 0.01
    assert healthy(rail, 800, log_of) > healthy(rail, 0.5, log_of)


def test_half_an_ohm_on_a_core_may_be_its_nature(log_of):
    """Its load is fitted, however far from usual: the reading is not called wrong."""
    core, battery = (healthy(rail, 0.5, log_of) for rail in ("VCORE", "VBAT"))
    assert core > 10 * battery
    assert core > 0.005


def test_a_name_raises_no_volts_for_injecting():
    """A battery may be one cell: what it bears is not told by its name."""
    circuit = recognise(board(BOARD.format(rail="VBAT")))
    assert volts_at_least(circuit)["VBAT"] > 0
    assert "VBAT" not in volts_at_least(circuit, named=False)
    floors = floors_of(circuit, inject(circuit, "VBAT"), view_of(circuit))
    assert all(volts is None for net, volts, _ in floors if net == "VBAT")
