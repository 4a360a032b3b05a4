"""Time, memory and growth, measured in one run so that ratios mean something.  By hand: python -m tests.bench"""

from __future__ import annotations

import argparse
import itertools
import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.generate import boat

ROOT = Path(__file__).resolve().parents[2]


def timed(command: list[str]) -> tuple[float, float]:
    """Seconds and peak MB of a whole process."""
    before = time.perf_counter()
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=ROOT) as process:
        _, status, usage = os.wait4(process.pid, 0)
        seconds = time.perf_counter() - before
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):
        raise SystemExit(f"{command} ended with {process.returncode}")
    return seconds, usage.ru_maxrss / 1024


def cold(rounds: int) -> None:
    check = [sys.executable, "-m", "linter.cli", "check", "boats/cutter.boat"]
    base = [sys.executable, "-c", "import lark, networkx, click"]
    pairs = [(timed(base)[0], timed(check)[0]) for _ in range(rounds + 1)][1:]
    imports, whole = (statistics.median(p[i] for p in pairs) for i in (0, 1))
    print(f"cold check of the cutter: {whole:.3f} s; importing lark, networkx, click: {imports:.3f} s; ", end="")
    print(f"ratio {whole / imports:.2f}")


def growth(sizes: list[int]) -> None:
    points: list[tuple[int, float]] = []
    print(f"{'conductors':>10}  {'seconds':>8}  {'peak MB':>8}  {'µs each':>8}")
    with tempfile.TemporaryDirectory() as folder:
        for size in sizes:
            path = Path(folder, f"{size}.boat")
            path.write_text(boat(size), encoding="utf-8")
            seconds, peak = timed([sys.executable, "-m", "linter.cli", "check", str(path)])
            points.append((size, seconds))
            print(f"{size:>10}  {seconds:>8.2f}  {peak:>8.0f}  {1e6 * seconds / size:>8.0f}")
    empty = timed([sys.executable, "-m", "linter.cli", "check", "boats/launch.boat"])[0]
    for (n, s), (m, t) in itertools.pairwise(points):
        exponent = math.log((t - empty) / (s - empty)) / math.log(m / n)
        print(f"growth exponent from {n} to {m}, start-up of {empty:.2f} s taken off: {exponent:.2f}")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--sizes", type=int, nargs="+", default=[1000, 10_000, 100_000])
    parser.add_argument("--rounds", type=int, default=11)
    options = parser.parse_args()
    cold(options.rounds)
    growth(options.sizes)


if __name__ == "__main__":
    main()
