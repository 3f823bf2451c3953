"""What every maker of steps needs: the circuit, its points, the meter at hand."""

from collections.abc import Iterable

from ohmtrail.netanalysis.checklist.model import COLD, Expect, Step
from ohmtrail.netanalysis.checklist.points import Points, Probe
from ohmtrail.netanalysis.checklist.sisters import sister_groups
from ohmtrail.netanalysis.circuit import Circuit, Stage
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.injection_reach import InjectionIndex
from ohmtrail.netanalysis.short_index import ShortIndex
from ohmtrail.netanalysis.verdict import cold_volts

__all__ = ["Bench"]


class Bench:
    """One circuit, indexed once, and the meter modes that are at hand."""

    def __init__(self, circuit: Circuit, have: Iterable[str]) -> None:
        self.circuit = circuit
        self.view = view_of(circuit)
        self.points = Points(self.view)
        self.shorts = ShortIndex(circuit, self.view)
        self.have = frozenset(have)
        self._injection: InjectionIndex | None = None
        self.ground_like = self.shorts.grounds
        self._sisters = {
            one.id: len(group)
            for group in sister_groups(circuit.stages)
            for one in group
        }
        self._volts = {rail.net: rail.volts for rail in circuit.rails}

    @property
    def injection(self) -> InjectionIndex:
        """Where injected current may get, indexed at the first question."""
        if self._injection is None:
            self._injection = InjectionIndex(self.circuit, self.view)
        return self._injection

    def volts(self, net: str | None) -> float | None:
        """Nominal volts of a net, None where unknown."""
        if net is None:
            return None
        if net in self.circuit.stated_volts:
            return self.circuit.stated_volts[net]
        return self._volts.get(net) if net in self._volts else None

    def is_rail(self, net: str) -> bool:
        """Whether the net is a supply rail, or its voltage is stated."""
        return net in self._volts or net in self.circuit.stated_volts

    def cold_volts(self, net: str) -> float | None:
        """Nominal volts of the rail whose load a net reads when cold.

        That is the net's own rail; for a switch node the output beyond its coil.
        """
        return cold_volts(self.circuit, net)

    def sisters(self, stage: Stage) -> int:
        """Count the stages that share their shape and rails with this one."""
        return self._sisters.get(stage.id, 1)

    def low_ohm_mode(self) -> str:
        """Return the mode for windings and shunts: four wires where there are."""
        return "four-wire" if "four-wire" in self.have else "resistance"

    def reading(
        self,
        title: str,
        mode: str,
        plus: Probe | None,
        minus: Probe | None,
        *,
        why: str,
        if_low: str,
        if_high: str,
        expect: Expect | None = None,
        source: str = "",
        phase: str = COLD,
        stage: str | None = None,
        parts: Iterable[str] = (),
        detail: str = "",
        row: str = "",
        lifted: tuple[str, ...] = (),
        compare: bool = False,
    ) -> list[Step]:
        """Return a step that takes a reading, or nothing if it cannot be taken.

        It cannot where a probe point is missing, both are one, or the bench has no
        meter for it.
        """
        if plus is None or minus is None or plus.text == minus.text:
            return []
        if plus.net is not None and plus.net == minus.net:
            return []
        if mode not in self.have and mode != "voltage":
            return []
        place = plus.pin if plus.pin is not None else None
        return [
            Step(
                title=title,
                phase=phase,
                why=why,
                mode=mode,
                plus=plus.text,
                minus=minus.text,
                plus_name=plus.name,
                minus_name=minus.name,
                plus_near=plus.near,
                minus_near=minus.near,
                expect=expect,
                source=source,
                if_low=if_low,
                if_high=if_high,
                stage=stage,
                lifted=lifted,
                compare=compare,
                parts=tuple(dict.fromkeys(parts)),
                x_mm=place.x_mm if place is not None else None,
                y_mm=place.y_mm if place is not None else None,
                side=(place.side or None) if place is not None else None,
                detail=detail,
                row=row,
            )
        ]

    def note(
        self,
        title: str,
        phase: str,
        why: str,
        *,
        parts: Iterable[str] = (),
        stage: str | None = None,
        source: str = "",
        row: str = "",
    ) -> Step:
        """Return a step that takes no reading, placed at its first part."""
        parts = tuple(dict.fromkeys(parts))
        part = self.view.part(parts[0]) if parts else None
        return Step(
            title=title,
            phase=phase,
            why=why,
            source=source,
            parts=parts,
            stage=stage,
            x_mm=part.x_mm if part is not None else None,
            y_mm=part.y_mm if part is not None else None,
            side=(part.side or None) if part is not None else None,
            row=row,
        )
