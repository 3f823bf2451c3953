"""Roles of pins: transistors, diodes, chips.

Pin orders of packages are common practice, no source; they are marked inferred.
"""

import pytest
from _small_boards import view


def roles(text, ref):
    found = view(text)
    return {
        pin.number: (found.role(ref, pin.number), found.unit(ref, pin.number))
        for pin in found.part(ref).pins
    }


def test_names_win():
    got = roles("Q1 - x:y 1:SOURCE=s 2:SOURCE=s 3:GATE=g 4:DRAIN=d", "Q1")
    assert [got[n][0] for n in "1234"] == ["source", "source", "gate", "drain"]


def test_pins_without_a_name_follow_their_net():
    got = roles("Q1 - Device:Q_NMOS_X 1:=s 2:=s 3:S=s 4:G=g 5:D=d", "Q1")
    assert got["1"] == got["2"] == ("source", 0)


def test_marked_dual():
    got = roles("Q1 - x:y 1:S1=a 2:G1=b 3:D2=c 4:S2=c 5:G2=d 6:D1=e", "Q1")
    assert got["6"] == ("drain", 0)
    assert got["3"] == ("drain", 1)


def test_unmarked_dual_in_the_usual_order():
    got = roles("Q3 - x:y 1:S=sw 2:G=h 3:S=GND 4:G=l 5:D=sw 6:=sw 7:=vin 8:D=vin", "Q3")
    assert got["1"] == ("source", 0)
    assert got["6"] == ("drain", 1)
    assert got["7"] == ("drain", 0)


@pytest.mark.parametrize(
    ("line", "gate", "drain", "source"),
    [
        ("Q1 IRFZ44 - 1:=a 2:=b 3:=c fp:TO-220-3", "1", "2", "3"),
        ("Q1 2N7002 - 1:=a 2:=b 3:=c fp:SOT-23", "1", "3", "2"),
        (
            "Q1 CSD1 - 1:=s 2:=s 3:=s 4:=g 5:=d 6:=d 7:=d 8:=d fp:TDSON-8",
            "4",
            "5",
            "1",
        ),
        ("Q1 CSD1 - 1:=s 2:=s 3:=s 4:=g 5:=d fp:LFPAK56", "4", "5", "1"),
    ],
)
def test_packages_without_names_are_inferred(line, gate, drain, source):
    found = view(line)
    assert found.role("Q1", gate) == "gate"
    assert found.role("Q1", drain) == "drain"
    assert found.role("Q1", source) == "source"
    assert all(role.inferred for role in found.roles.values())


@pytest.mark.parametrize(
    ("lines", "gate", "source"),
    [
        (
            "Q1 IRFZ44 - 1:=g 2:=VIN 3:=sw\nL1 1uH - 1:=sw 2:=out\nR1 4R7 - 1:=d 2:=g",
            "1",
            "3",
        ),
        (
            "Q1 IRFZ44 - 1:=sw 2:=g 3:=GND\nL1 1uH - 1:=sw 2:=out\nR1 4R7 - 1:=d 2:=g",
            "2",
            "3",
        ),
    ],
)
def test_three_nets_alone_tell_a_power_switch(lines, gate, source):
    caps = "C1 10u - 1:=VIN 2:=GND\nC2 10u - 1:=out 2:=GND\nC3 1u - 1:=VIN 2:=GND"
    found = view(f"{lines}\n{caps}")
    assert found.role("Q1", gate) == "gate"
    assert found.role("Q1", source) == "source"
    assert found.roles["Q1", gate].inferred


def test_a_signal_switch_without_names_is_left_open():
    found = view("Q1 2N7002 - 1:=a 2:=b 3:=c\nR1 1k - 1:=a 2:=x\nR2 1k - 1:=c 2:=y")
    assert found.role("Q1", "1") == ""


def test_a_grounded_diode_without_names_has_its_anode_at_ground():
    found = view(
        """
        D1 SS34 - 1:=GND 2:=SW
        C1 1u - 1:=V 2:=GND
        C2 1u - 1:=V 2:=GND
        D2 SS34 - 1:=a 2:=b
        """
    )
    assert found.role("D1", "2") == "cathode"
    # the habit of this board's footprint goes for the others too
    assert found.role("D2", "2") == "cathode"
    assert found.roles["D2", "2"].inferred


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("HO", "high gate"),
        ("UGATE1", "high gate"),
        ("GH_A", "high gate"),
        ("GHA", "high gate"),
        ("A_HO", "high gate"),
        ("HDRV2", "high gate"),
        ("DRVH", "high gate"),
        ("LGATE", "low gate"),
        ("GLC", "low gate"),
        ("LODRV", "low gate"),
        ("BOOT", "boot"),
        ("BST1", "boot"),
        ("VBST", "boot"),
        ("FB/VOUT", "feedback"),
        ("EN/UVLO", "enable"),
        ("~{EN}", "enable"),
        ("V_{IN}", "input"),
        ("PGND", "ground"),
        ("AVDD", "supply"),
        ("VCC2", "supply"),
        ("VOUT", "output"),
        ("ISEN1", "sense"),
        ("CS+", "sense"),
        ("GATE", "gate drive"),
        ("PGOOD", ""),
        ("PA13", ""),
    ],
)
def test_pins_of_a_converter(name, role):
    line = f"U1 X - 1:{name}=n 2:SW=sw 3:LG=lg 4:HG=hg 5:GND=GND"
    assert view(line).role("U1", "1") == role


def test_boot_pin_of_a_processor_is_no_bootstrap():
    found = view("U1 MCU - 1:BOOT0=b 2:VDD=V 3:GND=GND 4:PA0=x")
    assert found.role("U1", "1") == ""


def test_return_of_a_floating_driver_is_its_switch_pin():
    found = view(
        """
        U1 DRV - 1:VSSA=SW 2:OUTA=HO 3:VDDA=BOOT 4:VSSB=GND 5:OUTB=LO 6:VDDB=V12
        C1 1u - 1:=V12 2:=GND
        C2 1u - 1:=V12 2:=GND
        Q1 - Device:Q_NMOS_GDS G=HO D=VIN S=SW
        """
    )
    assert found.role("U1", "1") == "switch"
    assert found.role("U1", "4") == "ground"


def test_all_pads_of_the_last_terminal_have_its_role():
    # Four drain pads, as SO-8 has them; only gate and source are named.
    got = roles("Q1 - x:y 1:S=s 2:S=s 3:S=s 4:G=g 5:=d 6:=d 7:=d 8:=d", "Q1")
    assert {got[number] for number in "5678"} == {("drain", 0)}


@pytest.mark.parametrize(
    ("name", "unit"), [("VSS", 0), ("COM", 0), ("VEE", 0), ("VSSB", 1), ("GND_2", 1)]
)
def test_the_return_of_a_floating_driver_is_of_its_own_channel(name, unit):
    # The last letter of VSS is no mark of a channel, that of VSSB is (makers' data
    # sheets of isolated drivers; common practice).
    got = roles(
        f"""
        U1 DRIVER - VDD=VB {name}=SW OUT=G1 IN=PWM
        Q1 - Device:Q_NMOS_GDS G=G1 D=+12V S=SW
        C1 1u - 1:=+12V 2:=GND
        """,
        "U1",
    )
    assert got["2"] == ("switch", unit)


def test_a_leg_that_ends_on_a_wire_link_has_its_foot_there():
    # 0 ohm to ground is ground to a meter (common practice): source and drain of both
    # transistors follow, as they do with a shunt there.
    text = """
        J1 - - 1:=VIN_12V 2:=GND
        C1 10u - 1:=VIN_12V 2:=GND
        Q1 NFET - 1:=HG 2:=VIN_12V 3:=SW
        Q2 NFET - 1:=LG 2:=SW 3:=FOOT
        R1 {foot} - 1:=FOOT 2:=GND
        R2 10R - 1:=HG 2:=HO
        R3 10R - 1:=LG 2:=LO
        U1 DRIVER - HO=HO LO=LO VCC=VCC GND=GND
        """
    with_shunt = roles(text.format(foot="5m"), "Q2")
    assert with_shunt["3"][0] == "source"
    assert roles(text.format(foot="0R"), "Q2") == with_shunt
