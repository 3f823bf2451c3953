"""Run by a Python that has spydrnet: prints leaf pins and their wires, flattened.

Each line is ``net<TAB>instance path<TAB>port<TAB>bit``; the net is the topmost wire
that the pin is connected to, "" for none.  The walk through the hierarchy is
written here, over spydrnet's own model; only names of our importer are imitated.
"""

import logging
import os
import sys

logging.disable(logging.CRITICAL)
os.chdir(os.environ.get("TMPDIR", "/tmp"))  # it writes a log where it runs
import spydrnet  # noqa: E402


def name(element):
    return element.data[".NAME"]


def label(pin):
    port = pin.inner_pin.port
    return name(port), list(port.pins).index(pin.inner_pin), len(port.pins)


def main(path):
    netlist = spydrnet.parse(path)
    pending = [(netlist.top_instance.reference, (), {})]
    while pending:
        definition, above, wires = pending.pop()
        for instance in definition.children:
            here = (*above, name(instance))
            inner = {}
            for pin in instance.pins:
                wire = pin.wire
                net = None
                if wire is not None:
                    net = wires.get(wire)
                    if net is None:
                        net = f"{id(wire)}:{'/'.join(above)}"
                        wires[wire] = net
                inner[pin.inner_pin] = net
            if instance.reference.is_leaf():
                for pin in instance.pins:
                    port, bit, width = label(pin)
                    net = inner[pin.inner_pin] or ""
                    print(net, "/".join(here), port, bit, width, sep="\t")
            else:
                below = {}
                for inner_pin, net in inner.items():
                    if net is not None and inner_pin.wire is not None:
                        below[inner_pin.wire] = net
                pending.append((instance.reference, here, below))


main(sys.argv[1])
