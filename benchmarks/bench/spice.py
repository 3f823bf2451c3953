"""One ngspice kept alive in this process: load a deck, inject currents, read nodes.

ngspice runs as its shared library (Debian: ``libngspice0``).  The probes of the
meter are current sources that stand at every node that may be touched: they add
nothing to the circuit while they are 0, so one deck serves every reading of a
board state.
"""

import ctypes
import ctypes.util
from collections.abc import Iterable, Sequence

__all__ = ["Spice", "SpiceError"]

_TALK = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
_EXIT = ctypes.CFUNCTYPE(
    ctypes.c_int,
    ctypes.c_int,
    ctypes.c_bool,
    ctypes.c_bool,
    ctypes.c_int,
    ctypes.c_void_p,
)

#: What is linear comes out exact; only junctions stop at these bounds.  Tighter ones
#: cost ten times the steps, since ngspice starts every operating point from zero.
#: Across every junction, in siemens; the second where nothing is found with the first.
_GMIN, _MORE_GMIN = "1e-12", "1e-11"
_OPTIONS = f".options reltol=1e-4 abstol=1e-10 vntol=1e-8 gmin={_GMIN} itl1=500"


class SpiceError(RuntimeError):
    """ngspice found no operating point, or refused the deck."""


class _Vector(ctypes.Structure):
    _fields_ = (
        ("name", ctypes.c_char_p),
        ("type", ctypes.c_int),
        ("flags", ctypes.c_short),
        ("real", ctypes.POINTER(ctypes.c_double)),
        ("complex", ctypes.c_void_p),
        ("length", ctypes.c_int),
    )


class _Library:
    """The shared library; it can be started once in a process."""

    _one: "_Library | None" = None

    def __init__(self) -> None:
        name = ctypes.util.find_library("ngspice") or "libngspice.so.0"
        self.talk: list[str] = []
        self.dll = ctypes.CDLL(name)
        self.dll.ngGet_Vec_Info.restype = ctypes.POINTER(_Vector)

        @_TALK
        def say(text: bytes, ident: int, user: int) -> int:
            self.talk.append(text.decode(errors="replace"))
            del self.talk[:-200]
            return 0

        @_TALK
        def status(text: bytes, ident: int, user: int) -> int:
            return 0

        @_EXIT
        def leave(code: int, now: bool, quit_: bool, ident: int, user: int) -> int:
            self.talk.append(f"ngspice wants to end with {code}")
            return 0

        # ctypes does not keep callbacks alive by itself
        self._keep = (say, status, leave)
        self.dll.ngSpice_Init(say, status, leave, None, None, None, None)
        self.loaded = False

    @classmethod
    def get(cls) -> "_Library":
        if cls._one is None:
            cls._one = cls()
        return cls._one

    def command(self, text: str) -> None:
        if self.dll.ngSpice_Command(text.encode()):
            raise SpiceError(f"ngspice refused {text!r}: {' / '.join(self.talk[-3:])}")


class Spice:
    """The circuit of one board state.

    Parameters
    ----------
    cards : iterable of str
        Element and model lines; node "0" is the reference.
    probes : sequence of str
        Nodes that a probe may touch.
    """

    def __init__(self, cards: Iterable[str], probes: Sequence[str]) -> None:
        self._lib = _Library.get()
        if self._lib.loaded:
            self._lib.command("remcirc")
            self._lib.loaded = False
        self.probes = set(probes)
        deck = ["* board", _OPTIONS, *cards]
        deck += [f"iprobe_{node} 0 {node} dc 0" for node in probes]
        deck.append(".end")
        array = (ctypes.c_char_p * (len(deck) + 1))(*(x.encode() for x in deck), None)
        if self._lib.dll.ngSpice_Circ(array):
            raise SpiceError(f"deck refused: {' / '.join(self._lib.talk[-3:])}")
        self._lib.loaded = True
        self._on: dict[str, float] = {}
        Spice.current = self

    current: "Spice | None" = None

    def volts(self, amps: dict[str, float], read: Iterable[str]) -> dict[str, float]:
        """Return node voltages while these currents flow into these nodes.

        Raises
        ------
        SpiceError
            If there is no operating point, or another deck was loaded since.
        """
        if Spice.current is not self:
            raise SpiceError("another deck has been loaded since")
        read = list(read)
        command = self._lib.command
        for node in self._on.keys() - amps.keys():
            command(f"alter iprobe_{node} dc = 0")
        for node, value in amps.items():
            if self._on.get(node) != value:
                command(f"alter iprobe_{node} dc = {value!r}")
        self._on = dict(amps)
        real = [node for node in read if node != "0"]
        try:
            return self._operating_point(real)
        except SpiceError:
            # Junctions that float need a little more to hold on to.
            command(f"option gmin={_MORE_GMIN}")
            try:
                return self._operating_point(real)
            finally:
                command(f"option gmin={_GMIN}")

    def _operating_point(self, nodes: list[str]) -> dict[str, float]:
        command = self._lib.command
        command("op")
        found = {"0": 0.0}
        for node in nodes:
            vector = self._lib.dll.ngGet_Vec_Info(node.encode())
            if not vector or not vector[0].real:
                command("destroy all")
                raise SpiceError(
                    f"no voltage at {node}: {' / '.join(self._lib.talk[-5:])}"
                )
            found[node] = vector[0].real[0]
        command("destroy all")
        return found
