"""How often the results of one board on two benches agree within their uncertainties.

    python -m tests.benchmarks.one_board_two_benches [PAIRS] [PROCEDURE]

Each pair is one simulated board, tested on two simulated benches with instruments of their own.
Meant are 95 %. Prints the share over all results and for each result, the worst first; asserts
nothing.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import defaultdict
from pathlib import Path

from tests.archive.pairs import held, pair

PAIRS = 300


def main() -> None:
    words = sys.argv[1:]
    pairs = next((int(word) for word in words if word.isdigit()), PAIRS)
    procedure = next((word for word in words if not word.isdigit()), "first-look")
    start = time.perf_counter()
    within: dict[str, list[bool]] = defaultdict(list)
    with tempfile.TemporaryDirectory() as folder:
        for number in range(pairs):
            logs = Path(folder) / str(number)
            for each, stays in held(pair(logs, number, procedure)):
                within[f"{each.step}: {each.name}"].append(stays)
    everything = [stays for held_ones in within.values() for stays in held_ones]
    share = 100.0 * sum(everything) / len(everything)
    seconds = time.perf_counter() - start
    print(f"{pairs} pairs by {procedure}, {len(everything)} results, {seconds:.0f} s")
    print(f"within the uncertainties: {share:.1f} % (meant: 95 %)")
    for name, stays in sorted(within.items(), key=lambda pair: sum(pair[1]) / len(pair[1])):
        print(f"  {100.0 * sum(stays) / len(stays):5.1f} % of {len(stays):5d}  {name}")


if __name__ == "__main__":
    main()
