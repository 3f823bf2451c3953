"""Nominal volts of rails: from USB, along links, through closed switches."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.supply import Source, conduct

__all__ = ["Found", "by_usb", "conduct_volts"]


@dataclass(slots=True)
class Found:
    """Rails while they are collected: reason, volts and why."""

    because: dict[str, str]
    volts: dict[str, tuple[float, str]]

    def add(self, net: str | None, because: str) -> None:
        """Add a net as a rail, unless it is one already."""
        if net is not None:
            self.because.setdefault(net, because)

    def tell(self, net: str | None, volts: float | None, why: str) -> None:
        """Tell a net's volts, unless they are known already or None."""
        if net is not None and volts is not None:
            self.volts.setdefault(net, (volts, why))


def by_usb(view: CircuitView, found: Found) -> None:
    """VBUS of a USB connector: 5 V, unless a chip on CC can ask for more."""
    for part in view.board.parts:
        if view.kind(part.ref) != "connector" or not view.fitted(part.ref):
            continue
        if "USB" not in f"{part.value} {part.library} {part.footprint}".upper():
            continue
        negotiated = any(
            pin.name.upper().replace("_", "").startswith("CC")
            and pin.net is not None
            and view.parts_on(pin.net, "chip")
            for pin in part.pins
        )
        for pin in part.pins:
            if not pin.name.upper().startswith("VBUS") or pin.net is None:
                continue
            if view.degree(pin.net) > 1 and not pin.net.startswith("unconnected-"):
                found.add(pin.net, f"VBUS of {part.ref}")
                if not negotiated:
                    found.tell(pin.net, 5.0, f"USB, {part.ref}")


def conduct_volts(
    view: CircuitView,
    found: Found,
    stages: Iterable[Stage],
    sources: Mapping[str, Source],
    avoid: set[str],
) -> None:
    """Carry known volts through links, closed switches and filter resistors.

    Nets joined by links are one at direct current.  If names on them disagree
    ("5V_IN" and "3V3_IN" behind two beads of one input) they speak of what hangs
    there, and none is believed, save what was stated.
    """
    seen: set[str] = set()
    ways: dict[str, list[tuple[str, str]]] = {}
    for start in found.because:
        if start in seen:
            continue
        group = [start]
        through: dict[str, str] = {start: ""}
        for here in group:
            for link, there in conduct(view, here, avoid):
                if there not in through:
                    through[there] = link.ref
                    group.append(there)
        seen.update(group)
        known = {net: found.volts[net] for net in group if net in found.volts}
        stated = [net for net, (_, why) in known.items() if why == "stated"]
        values = [known[net][0] for net in stated or known]
        if values and max(values) - min(values) > 0.1 * max(map(abs, values)):
            for net in known:
                if net not in stated:
                    del found.volts[net]
            continue
        for here in group:
            for link, there in conduct(view, here, avoid):
                ways.setdefault(here, []).append((there, link.ref))
        if known:
            origin = (stated or list(known))[0]
            for net in group:
                if net in found.because:
                    found.tell(net, known[origin][0], f"linked to {origin}")
    _downstream(view, found, stages, sources, ways)


def _downstream(
    view: CircuitView,
    found: Found,
    stages: Iterable[Stage],
    sources: Mapping[str, Source],
    ways: dict[str, list[tuple[str, str]]],
) -> None:
    passes = [
        stage
        for stage in stages
        if stage.kind in ("load switch", "ideal diode", "back-to-back pass")
    ]
    into = Counter(net for stage in passes for net in {stage.output, stage.output_rail})
    for stage in passes:
        # Where several come together they choose between supplies, and which one
        # is not known.
        if max(into[stage.output], into[stage.output_rail]) == 1:
            for a in (stage.input, stage.input_rail):
                for b in (stage.output, stage.output_rail):
                    if a is not None and b is not None and a != b:
                        ways.setdefault(a, []).append((b, stage.id))
    for net, source in sources.items():
        if source.ref is not None and source.upstream is not None:
            if view.kind(source.ref) == "resistor":
                ways.setdefault(source.upstream, []).append((net, source.ref))
    queue = [net for net in found.because if net in found.volts]
    for here in queue:
        for there, way in ways.get(here, ()):
            if there in found.because and there not in found.volts:
                found.tell(there, found.volts[here][0], f"{here} through {way}")
                queue.append(there)
