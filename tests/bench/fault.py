"""Fault currents: time and growth, and ngspice at the same points.  By hand: python -m tests.bench.fault"""

from __future__ import annotations

import gc
import itertools
import math
import os
import shutil
import statistics
import subprocess
import tempfile
import time
from pathlib import Path

from linter.model.build import build
from linter.source.files import Reader
from linter.study.cases import cases_of
from linter.study.clearing import clearing
from linter.study.fault import Faults, faults_of
from linter.study.net import decompose, net_of
from tests.bench.generate import boat
from tests.study.test_fault_judges import deck, largest_sources

ROOT = Path(__file__).resolve().parents[2]
# A generated boat of so many conductors has a thousand nodes and some.
CONDUCTORS_OF_A_THOUSAND_NODES = 490


def studied(text: str, rounds: int = 3) -> tuple[Faults, float]:
    """The faults of a design asked for at every node, and CPU seconds, the least of several rounds."""
    design = build(Reader().design_text(text))
    net = net_of(design.circuit)
    parts = decompose(net)
    positions = [c.opened for c in cases_of(design, parts.leads_to)]
    taken = []
    for _ in range(rounds):
        gc.collect()
        gc.disable()
        before = time.process_time()
        found = faults_of(net, parts, positions)
        for node in range(len(net.circuit.nodes)):
            found.largest(node)
            found.smallest(node)
        taken.append(time.process_time() - before)
        gc.enable()
    return found, min(taken)


def judged(text: str) -> tuple[int, float]:
    """How many points ngspice solved, and its CPU seconds."""
    with tempfile.TemporaryDirectory() as folder:
        path, out = Path(folder, "deck.cir"), Path(folder, "out")
        path.write_text(text, encoding="utf-8")
        with (
            out.open("w", encoding="utf-8") as file,
            subprocess.Popen(["ngspice", "-b", str(path)], stdout=file, stderr=subprocess.DEVNULL) as process,
        ):
            _, status, usage = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
        return out.read_text(encoding="utf-8").count("v(n"), usage.ru_utime + usage.ru_stime


def boats() -> None:
    for name in ("launch", "cutter", "motor-yacht"):
        text = str(ROOT / "boats" / f"{name}.boat")
        design = build(Reader().design(text))
        net = net_of(design.circuit)
        parts = decompose(net)
        positions = [c.opened for c in cases_of(design, parts.leads_to)]
        taken = []
        for _ in range(11):
            before = time.process_time()
            faults_of(net, parts, positions)
            taken.append(time.process_time() - before)
        print(f"{name}: {len(net.circuit.nodes)} nodes, fault currents in {1000 * statistics.median(taken):.2f} ms")


def against_ngspice() -> None:
    """All nodes of a boat of a thousand nodes: the largest current at each, ngspice in one run of as many points."""
    if shutil.which("ngspice") is None:
        print("ngspice is not installed")
        return
    found, seconds = studied(boat(CONDUCTORS_OF_A_THOUSAND_NODES), 5)
    nodes = sorted(found.points)
    points, theirs = judged(deck(found, largest_sources(found), nodes, largest=True))
    print(f"{len(nodes)} nodes, largest and smallest at each: {seconds:.4f} s; ", end="")
    print(f"ngspice, largest only, {points} points: {theirs:.2f} s, {theirs / seconds:.0f} times as long")


def growth(sizes: list[int]) -> None:
    points: list[tuple[int, float]] = []
    for size in sizes:
        found, seconds = studied(boat(size))
        points.append((size, seconds))
        print(
            f"{size:>7} conductors, {len(found.points):>7} nodes: {seconds:.3f} s, {1e6 * seconds / size:.1f} µs each"
        )
    for (n, s), (m, t) in itertools.pairwise(points):
        print(f"growth exponent from {n} to {m}: {math.log(t / s) / math.log(m / n):.2f}")


def clearings(size: int) -> None:
    """Every node's fault cleared for each source that reaches it by itself."""
    found, _ = studied(boat(size), 1)
    asked = 0
    before = time.process_time()
    for node in found.points:
        for made in found.each_alone(node):
            assert made.drive is not None
            clearing(found, node, made.drive.sources, made.drive.opened, lambda edge, amps: 1e6 / amps**2)
            asked += 1
    seconds = time.process_time() - before
    print(f"{size} conductors: {asked} faults cleared in {seconds:.2f} s, {1e6 * seconds / asked:.0f} µs each")


def run(sizes: tuple[int, ...] = (1000, 10_000, 100_000)) -> None:
    boats()
    against_ngspice()
    growth(list(sizes))
    clearings(sizes[0])
    clearings(sizes[1] if len(sizes) > 1 else sizes[0])


if __name__ == "__main__":
    run()
