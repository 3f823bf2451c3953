"""Switching stages of the labelled boards: found and right, by kind and by field.

``pytest -s`` prints the figures.  A label's stage is matched with ours by its
switches, else by its chip and output.  Labels marked optional count neither way.
What the labels are thought to be wrong in stands in `DISPUTED` with the evidence.
"""

from collections import Counter, defaultdict

import pytest
from _labels import all_labelled, labelled, show
from _oracles import corpus

LABELLED = labelled()

#: (board, label's switches or chip and output, field) -> why the label is left.
DISPUTED: dict[tuple[str, str, str], str] = {}

#: Fields of a stage that a technician acts on, and those that only list what
#: stands around it (which of a shared rail's capacitors belong to one stage is
#: a matter of the drawing).
EXACT = ("kind", "high_side", "low_side", "driver", "inductors", "nodes")
ENDS = ("input", "output")
AROUND = ("controller", "bootstrap", "current_sense", "snubber")
CAPS = ("input_caps", "output_caps")
CHAIN = ("driver_pin", "series", "turn_off", "pull_down")


def key_of(label):
    switches = [*label["high_side"], *label["low_side"]]
    return (
        ",".join(switches) if switches else f"{label['controller']} {label['output']}"
    )


def label_kinds(label):
    return {label["kind"], *label.get("alt_kinds", ())}


def switches_of(stage):
    return {*stage.high_side, *stage.low_side}


def match(labels, stages):
    """Pair labels with stages: by switches, then by chip and output."""
    left = list(stages)
    pairs = []

    def take(label, fits):
        best = [s for s in left if fits(s)]
        if best:
            # of several, one of the right kind first
            best.sort(key=lambda s: s.kind not in label_kinds(label))
            left.remove(best[0])
            pairs.append((label, best[0]))
            return True
        return False

    open_labels = []
    for label in labels:
        wanted = {*label["high_side"], *label["low_side"]}
        gates = {c["gate_pin"] for c in label["gate_chains"]}

        def by_switch(s, wanted=wanted, gates=gates):
            if gates and s.gate_chains:
                return bool(gates & {c.gate for c in s.gate_chains})
            return bool(wanted & switches_of(s))

        if not (wanted and take(label, by_switch)):
            open_labels.append(label)
    unmatched = []
    for label in open_labels:

        def by_chip(s, label=label):
            same = label["controller"] in (s.controller, s.driver)
            nodes = label["switch_node"]
            nodes = nodes if isinstance(nodes, list) else [nodes]
            return (
                same
                and label["controller"] is not None
                and not s.gate_chains
                and (
                    label["output"] in (s.output, s.output_rail)
                    or bool(set(nodes) & set(s.switch_nodes))
                )
            )

        if not take(label, by_chip):
            unmatched.append(label)
    return pairs, unmatched, left


def compare(label, stage):
    """Yield (field, right, label's, ours) for one stage and its chains."""
    yield "kind", stage.kind in label_kinds(label), label["kind"], stage.kind
    for name, ours in (
        ("high_side", stage.high_side),
        ("low_side", stage.low_side),
        ("inductors", stage.inductors),
        ("bootstrap", stage.bootstrap),
        ("current_sense", stage.current_sense),
        ("snubber", stage.snubber),
        ("input_caps", stage.input_caps),
        ("output_caps", stage.output_caps),
    ):
        theirs = label["inductor" if name == "inductors" else name]
        yield name, set(theirs) == set(ours), theirs, ours
    for name in ("driver", "controller"):
        yield (
            name,
            label[name] == getattr(stage, name),
            label[name],
            getattr(stage, name),
        )
    nodes = label["switch_node"] or []
    nodes = nodes if isinstance(nodes, list) else [nodes]
    yield "nodes", set(nodes) == set(stage.switch_nodes), nodes, stage.switch_nodes
    ends = [
        (label["input"], (stage.input, stage.input_rail)),
        (label["output"], (stage.output, stage.output_rail)),
    ]
    for name, (theirs, ours) in zip(ENDS, ends, strict=True):
        yield name, theirs in ours, theirs, ours
    chains = {chain.gate: chain for chain in stage.gate_chains}
    for theirs in label["gate_chains"]:
        chain = chains.get(theirs["gate_pin"])
        yield "chain found", chain is not None, theirs["gate_pin"], sorted(chains)
        if chain is None:
            continue
        for name, wanted, ours in (
            ("driver_pin", theirs["driver_pin"], chain.driver_pin),
            ("series", theirs["series"], list(chain.series)),
            ("turn_off", theirs["turn_off_path"], list(chain.turn_off)),
            ("pull_down", theirs["pull_down"], list(chain.pull_down)),
        ):
            yield name, wanted == ours, wanted, ours


class Figures:
    def __init__(self):
        self.wanted, self.found, self.ours = Counter(), Counter(), Counter()
        self.right, self.all = Counter(), Counter()
        self.lists = defaultdict(Counter)
        self.notes = []

    def add(self, one):
        required = one.labels["stages"]
        stages = one.circuit.stages
        pairs, unmatched, left = match(required, stages)
        for label in unmatched:
            if label.get("optional"):
                continue
            self.wanted[label["kind"]] += 1
            self.notes.append(f"{one.name}: missed {label['kind']} {key_of(label)}")
        for stage in left:
            self.ours[stage.kind] += 1
            self.notes.append(f"{one.name}: extra {stage.id}: {stage.because}")
        for label, stage in pairs:
            if label.get("optional"):
                continue
            kind = label["kind"]
            right = stage.kind in label_kinds(label)
            self.wanted[kind] += 1
            self.found[kind] += right
            self.ours[kind if right else stage.kind] += 1
            for name, good, theirs, ours in compare(label, stage):
                if (one.name, key_of(label), name) in DISPUTED:
                    continue
                self.all[name] += 1
                self.right[name] += good
                if name in CAPS:
                    both = len(set(theirs) & set(ours))
                    self.lists[name].update(
                        both=both, theirs=len(theirs), ours=len(ours)
                    )
                elif not good:
                    self.notes.append(
                        f"{one.name}: {stage.id} {name}: label {theirs}, here {ours}"
                    )

    def show(self):
        for note in self.notes:
            show(note)
        for kind in sorted({*self.wanted, *self.ours}):
            show(
                f"{kind}: {self.found[kind]} of {self.wanted[kind]} found, "
                f"{self.ours[kind]} reported"
            )
        for name in self.all:
            show(f"{name}: {self.right[name]} of {self.all[name]} right")
        for name, counts in self.lists.items():
            show(
                f"{name}: {counts['both']} of {counts['theirs']} labelled, "
                f"{counts['ours']} listed"
            )


def over_all():
    corpus()
    figures = Figures()
    for one in all_labelled():
        figures.add(one)
    figures.show()
    return figures


def test_kinds_found_and_right():
    figures = over_all()
    wanted, found = figures.wanted.total(), figures.found.total()
    assert found >= 0.95 * wanted, f"{found} of {wanted} found"
    assert found >= 0.95 * figures.ours.total(), f"{figures.ours.total()} reported"


@pytest.mark.parametrize("name", [*EXACT, *ENDS, "chain found", *CHAIN])
def test_what_a_technician_probes(name):
    figures = over_all()
    assert figures.right[name] >= 0.95 * figures.all[name]


@pytest.mark.parametrize("one", LABELLED)
def test_signal_switches_are_no_stage(one):
    """Look-alikes may drive a stage or bridge a gate, never be its switch."""
    lookalikes = set(one.labels.get("signal_switches", ()))
    for stage in one.circuit.stages:
        assert not lookalikes & switches_of(stage), stage.id
