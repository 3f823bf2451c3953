"""How short the way round is, and how long a probe map takes.

Usage: python benchmarks/maps.py [--seeds N] [--kicks N] [BOARD ...]

First N seeds (default 10) of 200 points spread over a board of 150 by 100 mm: the
length of the way beside the best of a long optimiser run of our own (N kicks, default
20000) and beside the bound of Held and Karp, which no way can be shorter than.

Then, for each board (default: the demo board, and of the corpus the largest layout and
the one with most pins), CPU seconds of the checklist, of the map's drawings and of
writing them as SVG and PDF.  Reading and recognising are not counted; each figure is
the least of 3 runs.
"""

import argparse
import os
import random
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from math import dist
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
RUNS = 3


def scattered(seed: int) -> list[tuple[float, float]]:
    """200 points on a board."""
    chance = random.Random(seed)
    return [(chance.uniform(0, 150), chance.uniform(0, 100)) for _ in range(200)]


def long_run(points: list[tuple[float, float]], kicks: int) -> float:
    """Best length of a long search, apart from the program: Or-opt is not in it.

    2-opt moves drawn at random under a falling temperature (Kirkpatrick, Gelatt and
    Vecchi 1983), from the nearest neighbour's way, then 2-opt to the end.
    """
    import math

    chance = random.Random(1)
    left = set(range(1, len(points)))
    order = [0]
    while left:
        here = points[order[-1]]
        order.append(min(left, key=lambda one: dist(here, points[one])))
        left.discard(order[-1])
    count = len(order)
    total = kicks * 40
    for turn in range(total):
        heat = 8.0 * (1 - turn / total) ** 3 + 1e-4
        i = chance.randrange(count)
        j = min(count - 1, i + 1 + int(chance.expovariate(1 / 30)))
        before = dist(points[order[i - 1]], points[order[i]]) if i else 0.0
        after = dist(points[order[i - 1]], points[order[j]]) if i else 0.0
        if j + 1 < count:
            before += dist(points[order[j]], points[order[j + 1]])
            after += dist(points[order[i]], points[order[j + 1]])
        if after < before or chance.random() < math.exp((before - after) / heat):
            order[i : j + 1] = order[i : j + 1][::-1]
    return sum(dist(points[a], points[b]) for a, b in zip(order, order[1:]))  # noqa: B905, RUF007


def routes(seeds: int, kicks: int) -> None:
    """Print the way beside the long run and the bound."""
    sys.path.insert(0, str(HERE / "tests/netanalysis/probe_map"))
    from test_route import bound

    from ohmtrail.netanalysis.probe_map.route import length_mm, short_route

    print(f"{'seed':>4} {'way mm':>8} {'s':>6} {'/ long run':>10} {'/ bound':>8}")
    worst = 0.0
    for seed in range(seeds):
        points = scattered(seed)
        begin = time.process_time()
        way = length_mm(points, short_route(points))
        taken = time.process_time() - begin
        best = min(way, long_run(points, kicks))
        worst = max(worst, way / best)
        print(
            f"{seed:4} {way:8.1f} {taken:6.2f} {way / best:10.3f} "
            f"{way / bound(points):8.3f}"
        )
    print(f"worst against the best known: {worst:.3f} (aim: 1.1)")


def least(make: Callable[[], object]) -> tuple[float, object]:
    """Return the least CPU time of a few runs, and what was made."""
    times = []
    made: object = None
    for _ in range(RUNS):
        begin = time.process_time()
        made = make()
        times.append(time.process_time() - begin)
    return min(times), made


def boards(folder: Path) -> Iterator[Path]:
    """Give the demo board's layout, and two large ones of the corpus."""
    from ohmtrail.fixtures import write_demo

    write_demo(folder)
    yield folder / "sk4.kicad_pcb"
    corpus = Path(os.environ.get("OHMTRAIL_CORPUS", HERE.parent / "shared/corpus"))
    for name in (
        "boards/bms-c1/kicad/bms-c1.kicad_pcb",
        "boards/reform1-motherboard/historic-reform1/reform-motherboard/"
        "reform-motherboard.kicad_pcb.gz",
    ):
        if (corpus / name).exists():
            yield corpus / name
        else:
            print(f"no {name} in a corpus of real boards", file=sys.stderr)


def maps(paths: list[Path]) -> None:
    """Print how long the checklist and its map take."""
    from ohmtrail.cli.render.drawing_pdf import sheet_bytes
    from ohmtrail.cli.render.drawing_svg import svg_text
    from ohmtrail.cli.render.map_drawing import map_drawings
    from ohmtrail.importers import load
    from ohmtrail.netanalysis.checklist import make_checklist
    from ohmtrail.netanalysis.recognise import recognise

    print(
        f"{'board':32} {'parts':>6} {'pins':>6} {'steps':>6} {'pages':>6} "
        f"{'checklist':>9} {'map':>6} {'SVG':>6} {'PDF':>6}"
    )
    for path in paths:
        circuit = recognise(load(path))
        listing, made = least(lambda c=circuit: make_checklist(c))
        steps = [step for one in made.sections for step in one.steps]
        mapping, pages = least(lambda c=circuit, s=steps: map_drawings(c, s))
        svg, _ = least(lambda d=pages: [svg_text(one) for one in d])
        pdf, _ = least(lambda d=pages: sheet_bytes(d))
        print(
            f"{path.name[:32]:32} {len(circuit.board.parts):6} "
            f"{circuit.board.pin_count:6} {len(steps):6} {len(pages):6} "
            f"{listing:9.2f} {mapping:6.2f} {svg:6.2f} {pdf:6.2f}"
        )


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("boards", nargs="*", type=Path)
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--kicks", type=int, default=20_000)
    options = parser.parse_args()
    routes(options.seeds, options.kicks)
    print()
    with tempfile.TemporaryDirectory() as folder:
        maps(options.boards or list(boards(Path(folder))))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
