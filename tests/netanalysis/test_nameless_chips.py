"""Chips and transistors without pin names: roles from nets, said to be inferred.

Pin orders and topologies are common practice of makers; no single source.
"""

from _operations import operations
from _small_boards import board, view

from ohmtrail.netanalysis.recognise import base_view, recognise

RAILS = """
C1 10u - 1:=+5V 2:=GND
C2 10u - 1:=+3V3 2:=GND
C3 10u - 1:=+3V3 2:=GND
J1 CONN - 1:=+5V 2:=GND 3:=GND
U9 LOAD - VDD=+3V3 GND=GND A=a9
"""


def kinds(text):
    return {
        (s.kind, s.controller, s.input, s.output) for s in recognise(board(text)).stages
    }


def test_the_name_that_a_net_took_from_its_pin():
    found = view(RAILS + "U1 XYZ - 1:=GND 2:=Net-(U1-BOOT) 3:=+5V 4:=NET-(U1-EN)")
    role = found.roles["U1", "4"]
    assert (role.role, role.inferred) == ("enable", True)
    assert "EN" in role.because
    # A pad's number is no name.
    assert ("U1", "2") not in found.roles or found.roles["U1", "2"].inferred


def test_a_net_called_after_a_pad_names_nothing():
    found = view(RAILS + "U1 XYZ - 1:=GND 2:=Net-(U1-Pad2) 3:=+5V 4:=x")
    assert ("U1", "2") not in found.roles


def test_a_small_chip_between_two_supplies_is_a_linear_regulator():
    text = RAILS + "U1 ABC - 1:=+5V 2:=GND 3:=+5V 4:=nc 5:=+3V3"
    assert kinds(text) == {("linear regulator", "U1", "+5V", "+3V3")}
    roles = recognise(board(text)).roles
    assert all(roles["U1", n].inferred for n in ("1", "2", "5"))


def test_an_unknown_chip_between_supplies_with_signals_is_none():
    text = RAILS + "\n".join(
        (
            "U1 ABC - 1:=+5V 2:=GND 3:=a 4:=b 5:=c 6:=+3V3",
            "R1 1k - 1:=a 2:=x",
            "R2 1k - 1:=b 2:=x",
        )
    )
    assert kinds(text) == set()


def test_the_coil_shows_a_buck():
    text = RAILS + "\n".join(
        (
            "U1 ABC - 1:=+5V 2:=GND 3:=sw 4:=boot 5:=fb",
            "L1 4.7u - 1:=sw 2:=+3V3",
            "C4 100n - 1:=sw 2:=boot",
            "R1 10k - 1:=fb 2:=GND",
            "R2 33k - 1:=+3V3 2:=fb",
        )
    )
    assert kinds(text) == {("integrated buck", "U1", "+5V", "+3V3")}


def test_transistors_in_a_leg_are_field_effect_whatever_their_value():
    found = view(
        """
        J1 CONN - 1:=VIN 2:=GND
        C1 100u - 1:=VIN 2:=GND
        Q1 - - 1:=g1 2:=VIN 3:=node
        Q2 - - 1:=g2 2:=node 3:=foot
        R1 - - 1:=g1 2:=ho
        R2 - - 1:=g2 2:=lo
        R3 - - 1:=foot 2:=GND
        U1 - - 1:=ho 2:=lo 3:=node 4:=GND 5:=VIN
        """
    )
    assert (found.kind("Q1"), found.kind("Q2")) == ("mosfet", "mosfet")
    assert found.role("Q2", "3") == "source"
    assert found.role("Q1", "1") == "gate"
    assert [link.ref for link in found.links if link.ref == "R3"] == ["R3"]


def test_a_pull_up_keeps_a_gate_from_looking_like_a_leg():
    """A level shifter's drain on a P-channel gate is no node between switches."""
    found = view(
        """
        J1 CONN - 1:=VIN 2:=GND
        C1 10u - 1:=VIN 2:=GND
        Q1 - - 1:=g 2:=VIN 3:=out
        Q2 - - 1:=b 2:=GND 3:=g
        R1 100k - 1:=g 2:=VIN
        R2 1k - 1:=b 2:=x
        """
    )
    assert found.kind("Q2") == "other"


def test_names_that_a_file_gives_win():
    text = RAILS + "U1 ABC - 1:A=+5V 2:B=GND 3:C=nc 4:D=x 5:Y=+3V3"
    assert kinds(text) == set()


def test_wide_supplies_are_not_walked_once_a_part():
    """Four times the parts on one supply take about four times the work, not 16."""

    def work(count):
        lines = [RAILS]
        for i in range(count):
            lines.append(f"U{i + 10} - - 1:=+5V 2:=GND 3:=+3V3 4:=n{i} 5:=n{i + 1}")
            lines.append(f"Q{i} - - 1:=n{i} 2:=+5V 3:=m{i}")
        small = board("\n".join(lines))
        return operations(lambda: base_view(small))

    assert work(800) < 5 * work(200)
