"""What every part of a board is for direct current: one table by kind.

A capacitor is no path, but for the leak of an electrolytic one; a connector, a
crystal and a test point are nothing; what no file states is wide and marked as
assumed.  The models themselves are in the files beside this one.
"""

import math
from collections.abc import Callable, Iterator

from ohmtrail.netanalysis.board import Part
from ohmtrail.netanalysis.network.chip_models import chip_elements
from ohmtrail.netanalysis.network.diode_models import diode_junctions
from ohmtrail.netanalysis.network.link_models import link_paths
from ohmtrail.netanalysis.network.resistor_models import relay_paths, resistor_paths
from ohmtrail.netanalysis.network.scene import Element, Range, Scene, path
from ohmtrail.netanalysis.network.transistor_models import (
    bipolar_junctions,
    fet_junctions,
    igbt_junctions,
)

__all__ = ["part_elements"]

#: An electrolytic or tantalum capacitor, charged by the meter for some seconds (CP).
_ELECTROLYTIC = Range(50e3, 20e6, math.inf)
_WET = ("electrolytic", "tantalum", "polymer", "polarised")


def _capacitor(scene: Scene, part: Part) -> Iterator[Element]:
    if scene.view.sort(part.ref) == "feedthrough":
        yield from link_paths(scene, part)
        return
    pins = [pin for pin in part.pins if pin.net is not None or scene.in_hand]
    if scene.view.sort(part.ref) in _WET and len(pins) == 2:
        because = "common practice: leak of an electrolytic capacitor"
        nodes = scene.node(pins[0]), scene.node(pins[1])
        yield from path(part, *nodes, _ELECTROLYTIC, because, assumed=True)


def _other(scene: Scene, part: Part) -> Iterator[Element]:
    """Take a part of unknown kind for a chip if its pins are named as a chip's."""
    roles = {scene.view.role(part.ref, pin.number) for pin in part.pins}
    if "ground" in roles and roles & {"supply", "input"}:
        yield from chip_elements(scene, part)
    else:
        yield from link_paths(scene, part)


def _chip(scene: Scene, part: Part) -> Iterator[Element]:
    yield from link_paths(scene, part)
    yield from chip_elements(scene, part)


_MODELS: dict[str, Callable[[Scene, Part], Iterator[Element]]] = {
    "resistor": resistor_paths,
    "capacitor": _capacitor,
    "inductor": link_paths,
    "bead": link_paths,
    "fuse": link_paths,
    "transformer": link_paths,
    "jumper": link_paths,
    "switch": link_paths,
    "connector": link_paths,
    "relay": relay_paths,
    "diode": diode_junctions,
    "zener": diode_junctions,
    "tvs": diode_junctions,
    "led": diode_junctions,
    "mosfet": fet_junctions,
    "bipolar": bipolar_junctions,
    "igbt": igbt_junctions,
    "chip": _chip,
    "other": _other,
}


def part_elements(scene: Scene, part: Part) -> Iterator[Element]:
    """Yield the paths and junctions of one fitted part.

    Parameters
    ----------
    scene : Scene
        The circuit, or the bench for a part in the hand.
    part : Part
        A part of its board.

    Notes
    -----
    O(pins log pins).
    """
    model = _MODELS.get(scene.view.kind(part.ref))
    if model is not None:
        yield from model(scene, part)
