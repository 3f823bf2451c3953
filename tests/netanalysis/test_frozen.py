"""Pins and parts are made quickly, and stay frozen values all the same.

What a frozen dataclass does: the Python documentation of `dataclasses`.
"""

import copy
import pickle
from dataclasses import FrozenInstanceError, replace
from inspect import signature

import pytest

from ohmtrail.netanalysis.board import Part, Pin

PIN = Pin("R1", "1", "VIN", side="top")
PART = Part("R1", "10k", (PIN,), fields=(("MPN", "X"),))


def test_frozen() -> None:
    """No field is set or deleted afterwards."""
    with pytest.raises(FrozenInstanceError):
        PIN.net = "GND"
    with pytest.raises(FrozenInstanceError):
        del PART.value
    with pytest.raises(AttributeError):
        object.__setattr__(PIN, "colour", "red")


@pytest.mark.parametrize("value", [PIN, PART])
def test_a_value(value: Pin | Part) -> None:
    """Equal to what was copied, pickled or replaced by itself; one hash."""
    for other in (
        copy.deepcopy(value),
        pickle.loads(pickle.dumps(value)),
        replace(value),
    ):
        assert other == value
        assert hash(other) == hash(value)
        assert type(other) is type(value)
    assert value != replace(value, ref="R2")


def test_defaults_and_wrong_calls() -> None:
    """Fields not given take their defaults; a wrong call is a `TypeError`."""
    assert Pin("R1", "1", None) == Pin(
        "R1", "1", None, "", "", x_mm=None, y_mm=None, side=""
    )
    assert list(signature(Pin).parameters)[:3] == ["ref", "number", "net"]
    with pytest.raises(TypeError, match="missing"):
        Pin("R1")
    with pytest.raises(TypeError, match="colour"):
        Pin("R1", "1", None, colour="red")
