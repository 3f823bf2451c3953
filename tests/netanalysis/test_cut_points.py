"""Lifting a link, checked by taking the part away and looking again."""

import random

import pytest
from _small_boards import board

from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.short import find_short

LINKS = {
    "L": ("10u", "Device:L"),
    "FB": ("600R", "Device:FerriteBead"),
    "F": ("2A", "Device:Fuse"),
    "R": ("0", "Device:R"),
}


def lines_of(seed: int) -> list[str]:
    """Draw a random board: nets joined by links and switches, capacitors on each."""
    draw = random.Random(seed)
    nets = [f"N{number}" for number in range(draw.randint(3, 8))]
    lines = ["J1 - Connector:Conn_01x02 1:=N0 2:=GND"]
    for number in range(draw.randint(3, 10)):
        a, b = draw.sample(nets, 2)
        prefix = draw.choice(sorted(LINKS))
        value, library = LINKS[prefix]
        lines.append(f"{prefix}{number + 1} {value} {library} 1:={a} 2:={b}")
    for number in range(draw.randint(0, 2)):
        a, b = draw.sample(nets, 2)
        lines.append(f"Q{number + 1} NFET Device:Q_NMOS_GDS G=G{number} D={a} S={b}")
    for number, net in enumerate(nets):
        lines.append(f"C{number + 1} 100n Device:C 1:={net} 2:=GND")
    return lines


def suspects_of(lines):
    answer = find_short(recognise(board("\n".join(lines)), {}), "N0")
    return answer, {one.ref: len(one.assumes) for one in answer.parts}


@pytest.mark.parametrize("seed", range(120))
def test_what_a_lift_takes_off_is_what_is_not_found_without_the_part(seed):
    # Far side: reached no more, or only with more switches shorted than before.
    lines = lines_of(seed)
    answer, before = suspects_of(lines)
    cuts = {cut.ref: cut for cut in answer.cut_points}
    for line in lines:
        ref = line.split()[0]
        if line[0] not in "LFR" or ref not in before:
            continue
        _, after = suspects_of([one for one in lines if one != line])
        far = {
            one
            for one, assumed in before.items()
            if one != ref and after.get(one, 99) > assumed
        }
        cut = cuts.get(ref)
        if cut is not None:
            assert set(cut.far) == far
            assert set(cut.near) == before.keys() - far - {ref}
        elif all(assumed == 0 for assumed in before.values()):
            assert not far


def test_what_hangs_beyond_a_switch_goes_with_the_coil():
    # A buck's input capacitor holds its output down only through coil and switch.
    answer = find_short(
        recognise(
            board(
                """
                J1 - Connector:Conn_01x02 1:=VIN 2:=GND
                C1 10u Device:C 1:=VIN 2:=GND
                Q1 NFET Device:Q_NMOS_GDS G=GH D=VIN S=SW
                Q2 NFET Device:Q_NMOS_GDS G=GL D=SW S=GND
                L1 2u2 Device:L 1:=SW 2:=VOUT
                C2 22u Device:C 1:=VOUT 2:=GND
                C3 22u Device:C 1:=VOUT 2:=GND
                """
            ),
            {},
        ),
        "VOUT",
    )
    (cut,) = answer.cut_points
    assert (cut.ref, set(cut.near)) == ("L1", {"C2", "C3"})
    assert set(cut.far) == {"Q1", "Q2", "C1", "J1"}
