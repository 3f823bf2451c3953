"""``ohmtrail expect`` as a person and a program see it."""

import pytest

KEYS = "mode plus minus low typical high unit because".split()


@pytest.fixture
def ladder(tmp_path):
    path = tmp_path / "ladder.csv"
    path.write_text(
        "ref,pin,net,value,kind\n"
        "R33,1,VIN,10R 1%,resistor\nR33,2,MID,,\n"
        "R34,1,VIN,100R 1%,resistor\nR34,2,FAR,,\n"
        "L3,1,FAR,10uH,inductor\nL3,2,MID,,\n"
        "R1,1,MID,1k,resistor\nR1,2,GND,,\n"
        "C1,1,VIN,1u,capacitor\nC1,2,LOOSE,,\n"
    )
    return path


def test_the_sentence_names_what_lies_across(ohmtrail, ladder):
    ran = ohmtrail("expect", ladder, "R33.1", "R33.2", "--mode", "resistance")
    assert ran.status == 0
    # 10 ohm beside 100 ohm: 9.09 (Ohm's law).
    assert "R33 reads 9.09 Ω here, not 10 Ω, because R34" in ran.out
    assert "is healthy" in ran.out


def test_json_has_the_stable_keys(ohmtrail, ladder):
    found = ohmtrail(
        "expect", ladder, "R33.1", "MID", "--mode", "resistance", "--json"
    ).json
    assert set(KEYS) <= set(found)
    assert (found["mode"], found["plus"], found["minus"]) == (
        "resistance",
        "R33.1",
        "MID",
    )
    assert found["unit"] == "ohms"
    assert found["low"] < found["typical"] < found["high"]
    assert "R33" in found["because"]


def test_an_open_circuit_is_ol(ohmtrail, ladder):
    found = ohmtrail(
        "expect", ladder, "C1.1", "C1.2", "--mode", "resistance", "--json"
    ).json
    assert (found["typical"], found["high"]) == ("OL", "OL")
    ran = ohmtrail("expect", ladder, "C1.1", "C1.2", "--mode", "diode")
    assert "OL" in ran.out


def test_lifted_parts(ohmtrail, ladder):
    found = ohmtrail(
        *("expect", ladder, "R33.1", "R33.2", "--mode", "resistance"),
        *("--lifted", "R34,L3", "--json"),
    ).json
    assert found["typical"] == pytest.approx(10.0)
    assert found["because"] == ["R33"]


def test_what_nobody_can_tell_is_null(ohmtrail, ladder):
    for mode in ("voltage", "drop"):
        found = ohmtrail("expect", ladder, "MID", "FAR", "--mode", mode, "--json").json
        assert (found["low"], found["typical"], found["high"]) == (None, None, None)
        assert found["source"].startswith("unknown")
        assert found["unit"] == "volts"


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (("R33.1", "NOWHERE", "--mode", "resistance"), 1, "NOWHERE"),
        (("R33.7", "MID", "--mode", "resistance"), 1, "R33.7"),
        (("VIN", "MID", "--mode", "resistance", "--lifted", "R99"), 1, "R99"),
        (("VIN", "MID", "--mode", "smell"), 2, "smell"),
        (("VIN", "MID"), 2, "--mode"),
    ],
)
def test_errors_are_one_line(ohmtrail, ladder, words, status, says):
    ran = ohmtrail("expect", ladder, *words)
    assert ran.status == status
    assert says in ran.err
    assert ran.out == ""
    assert "Traceback" not in ran.err
