"""How long value texts take: new ones, and those of a board of 10,000 parts.

Prints the table in benchmarks/README.md.
"""

import random
import time

from ohmtrail.netanalysis.values import parse_value, read_value

PARTS = 10_000


def texts(seed: int) -> list[tuple[str, str]]:
    """Return value texts as a board has them: some hundred different ones."""
    draw = random.Random(seed)
    resistors = [f"{n}{p}{t}" for n in (1, 4.7, 22, 100) for p in "Rk" for t in TAILS]
    capacitors = [f"{n}{p}" for n in (1, 4.7, 22, 100) for p in ("pF", "nF", "uF/25V")]
    pool = [(text, "resistor") for text in resistors]
    pool += [(f"{text} {c}", "capacitor") for text in capacitors for c in CLASSES]
    return [draw.choice(pool) for _ in range(PARTS)]


TAILS = ("", " 1%", " 5% 0402", " 1/4W")
CLASSES = ("", "X5R", "X7R 10%", "C0G 5%")

CASES = {
    "a board's 10,000 parts": texts(1),
    "10,000 plain texts, all different": [
        (f"{i}k{i % 7}", "resistor") for i in range(PARTS)
    ],
    "10,000 texts with ratings, all different": [
        (f"{i / 10:.1f}uF/25V X5R 10%", "capacitor") for i in range(PARTS)
    ],
}


def main() -> None:
    """Time each case from an empty memory, the best of five."""
    print("| values | time |\n|---|---:|")
    for name, case in CASES.items():
        best = 1e9
        for _ in range(5):
            read_value.cache_clear()
            start = time.process_time()
            for text, kind in case:
                parse_value(text, kind)
            best = min(best, time.process_time() - start)
        print(f"| {name} | {best:.3f} s |")


if __name__ == "__main__":
    main()
