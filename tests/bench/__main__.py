"""Time, memory and growth, measured in one run so that ratios mean something.  By hand: python -m tests.bench

Times are processor seconds of the process itself, so that other work on the machine blurs them less than a clock's.
"""

from __future__ import annotations

import argparse
import gc
import itertools
import json
import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.bench.generate import boat

ROOT = Path(__file__).resolve().parents[2]
STEPS = ("parse", "build", "check")
# A small design through everything first: what is made once for all sizes (tables, imports) is no part of the growth.
WARM_UP = 50


@dataclass(slots=True)
class Cost:
    """Of a whole process: processor and clock seconds, and peak MB."""

    cpu_s: float
    clock_s: float
    peak_mb: float


def as_installed(folder: str) -> dict[str, str]:
    """An environment in which modules are compiled once, as they are in an installed package; into ``folder``."""
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    return kept | {"PYTHONPYCACHEPREFIX": folder}


def cost(command: list[str], environment: dict[str, str] | None = None) -> Cost:
    before = time.perf_counter()
    with subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=ROOT, env=environment
    ) as process:
        _, status, usage = os.wait4(process.pid, 0)
        clock_s = time.perf_counter() - before
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):
        raise SystemExit(f"{command} ended with {process.returncode}")
    return Cost(usage.ru_utime + usage.ru_stime, clock_s, usage.ru_maxrss / 1024)


def cold(rounds: int) -> None:
    check = [sys.executable, "-m", "linter.cli", "check", "boats/cutter.boat"]
    base = [sys.executable, "-c", "import lark, networkx, click"]
    with tempfile.TemporaryDirectory() as folder:
        environment = as_installed(folder)
        # the first pair compiles
        pairs = [(cost(base, environment), cost(check, environment)) for _ in range(rounds + 1)][1:]
    imports, whole = (statistics.median(p[i].cpu_s for p in pairs) for i in (0, 1))
    clock = statistics.median(p[1].clock_s for p in pairs)
    ratio = statistics.median(p[1].cpu_s / p[0].cpu_s for p in pairs)
    print(f"cold check of the cutter: {whole:.3f} s ({clock:.3f} s by the clock); ", end="")
    print(f"importing lark, networkx, click: {imports:.3f} s; ratio {ratio:.2f}")


def steps(path: str) -> dict[str, float]:
    """Processor seconds of each step, in this process."""
    from linter.model.build import build
    from linter.report.text import examination_text
    from linter.rules.engine import examine
    from linter.source.files import Reader

    # as the program does
    gc.disable()
    taken: dict[str, float] = {}

    def timed(step: str, work: Callable[[], Any]) -> Any:
        before = time.process_time()
        made = work()
        taken[step] = time.process_time() - before
        return made

    warm = examine(build(Reader().design_text(boat(WARM_UP))))
    if warm.mistakes or warm.broken:
        raise SystemExit("the generated boat is not read, or a rule broke")
    source = timed("parse", lambda: Reader().design(path))
    design = timed("build", lambda: build(source))
    timed("check", lambda: list(examination_text(examine(design))))
    return taken


def growth(sizes: list[int]) -> None:
    """Each size in a process of its own: every step's time, then the whole program with its start and end."""
    points: list[tuple[int, dict[str, float]]] = []
    print("conductors  " + "".join(f"{f'{s} s':>9}" for s in (*STEPS, "whole")) + f"{'clock s':>10}{'peak MB':>9}")
    with tempfile.TemporaryDirectory() as folder:
        for size in sizes:
            path = Path(folder, f"{size}.boat")
            path.write_text(boat(size), encoding="utf-8")
            inside = [sys.executable, "-m", "tests.bench", "--steps", str(path)]
            taken = json.loads(subprocess.run(inside, cwd=ROOT, check=True, capture_output=True, text=True).stdout)
            points.append((size, taken))
            whole = cost([sys.executable, "-m", "linter.cli", "check", str(path)])
            print(f"{size:>10}  " + "".join(f"{taken[s]:>9.2f}" for s in STEPS), end="")
            print(f"{whole.cpu_s:>9.2f}{whole.clock_s:>10.2f}{whole.peak_mb:>9.0f}")
    for (n, few), (m, many) in itertools.pairwise(points):
        shown = ", ".join(f"{s} {math.log(many[s] / few[s]) / math.log(m / n):.2f}" for s in STEPS)
        print(f"growth exponent from {n} to {m}: {shown}")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--sizes", type=int, nargs="+", default=[1000, 10_000, 100_000])
    parser.add_argument("--rounds", type=int, default=11)
    parser.add_argument("--steps", metavar="FILE", help="only the steps of this design, as JSON")
    options = parser.parse_args()
    if options.steps:
        print(json.dumps(steps(options.steps)))
        return
    cold(options.rounds)
    growth(options.sizes)


if __name__ == "__main__":
    main()
