"""Lines that change height between two columns: each goes up or down on a track that nothing else uses there.

The channel-routing problem with its classic answer: a line that leaves the channel at the height at which another comes
in must do so on a track beyond the other's; where two wait for each other, one of them is led in two steps.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from dataclasses import dataclass, field

# Two lines nearer than this count as being at one height (mm); ends on one track keep this distance too.
NEAR = 1.0


@dataclass(slots=True)
class _Step:
    """A stretch on one track: from the height ``a`` at its left to ``b`` at its right."""

    line: int
    a: float
    b: float
    after: set[int] = field(default_factory=set)
    track: int = -1

    @property
    def low(self) -> float:
        return min(self.a, self.b)

    @property
    def high(self) -> float:
        return max(self.a, self.b)


def channel(lines: dict[int, tuple[float, float]], taken: list[float]) -> dict[int, list[tuple[int, float]]]:
    """Tracks for ``lines`` (number -> height at the left, at the right), counted from the left.

    Each line gets its steps from left to right: (track, height after it).  ``taken`` are the heights of all lines at
    both sides of the channel, straight ones included.
    """
    steps = [_Step(n, a, b) for n, (a, b) in sorted(lines.items())]
    _wait(steps)
    used = sorted(taken)
    while (ring := _ring(steps)) is not None:
        one = steps[ring]
        between = _free_height(used, (one.a + one.b) / 2)
        insort(used, between)
        steps.append(_Step(one.line, between, one.b))
        one.b = between
        _wait(steps)
    _assign(steps)
    made: dict[int, list[tuple[int, float]]] = {}
    for step in sorted(steps, key=lambda s: s.track):
        made.setdefault(step.line, []).append((step.track, step.b))
    return made


def _wait(steps: list[_Step]) -> None:
    """Fill ``after``: the steps that must lie left of each step."""
    rights = sorted((s.b, n) for n, s in enumerate(steps))
    for step in steps:
        step.after.clear()
    for number, step in enumerate(steps):
        # Whoever arrives on the right at the height at which this one comes in from the left lies further right.
        at = bisect_left(rights, (step.a - NEAR, len(steps)))
        while at < len(rights) and rights[at][0] < step.a + NEAR:
            other = rights[at][1]
            if other != number:
                if steps[other].line == step.line:
                    # The two halves of one line: the second follows the first.
                    step.after.add(other)
                else:
                    steps[other].after.add(number)
            at += 1


def _ring(steps: list[_Step]) -> int | None:
    """A step that waits for itself in the end; None if there is none."""
    left = [len(s.after) for s in steps]
    before: list[list[int]] = [[] for _ in steps]
    for number, step in enumerate(steps):
        for other in step.after:
            before[other].append(number)
    ready = [n for n, c in enumerate(left) if not c]
    while ready:
        for number in before[ready.pop()]:
            left[number] -= 1
            if not left[number]:
                ready.append(number)
    waiting = [n for n, c in enumerate(left) if c]
    if not waiting:
        return None
    # Among those that wait, walk back until one comes a second time: it is in the ring.
    seen: set[int] = set()
    at = waiting[0]
    while at not in seen:
        seen.add(at)
        at = min(o for o in steps[at].after if left[o])
    return at


def _free_height(used: list[float], near: float) -> float:
    """A height close to ``near`` at which nothing comes in or leaves."""

    def free(y: float) -> bool:
        at = bisect_left(used, y)
        return all(abs(u - y) > NEAR for u in used[max(at - 1, 0) : at + 1])

    distance = 0.0
    while True:
        for y in (near - distance, near + distance):
            if free(y):
                return y
        distance += 0.25


def _assign(steps: list[_Step]) -> None:
    """Give each step the leftmost track it may have; lines that go down are served from below, so that they nest."""
    tracks: list[list[_Step]] = []
    waiting = set(range(len(steps)))
    order = sorted(waiting, key=lambda n: (-steps[n].a if steps[n].b > steps[n].a else steps[n].a, n))
    while waiting:
        for number in order:
            step = steps[number]
            if number not in waiting or step.after & waiting:
                continue
            track = max((steps[o].track + 1 for o in step.after), default=0)
            while track < len(tracks) and any(
                o.low - NEAR < step.high and step.low < o.high + NEAR for o in tracks[track]
            ):
                track += 1
            if track == len(tracks):
                tracks.append([])
            tracks[track].append(step)
            step.track = track
            waiting.discard(number)
        order = [n for n in order if n in waiting]
