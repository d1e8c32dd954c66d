"""Kits of many parts: what a part costs as they grow, and what other processes save.

`python -m pytest tests/bench/test_many_parts.py -m bench -s`. Where a machine does other work too,
processor time tells more than the clock: both are printed.
"""

from __future__ import annotations

import os
import resource
import statistics
import time
from collections.abc import Sequence
from typing import NamedTuple

import pytest

from fixtures.jobs import Job, all_done
from fixtures.kit import Kit, kit
from fixtures.workers import Workers
from tests.piece.making import NAME, Tables, case, read, shelf, tables

pytestmark = pytest.mark.bench
LOADS = ("fixtures.jobs", "fixtures.kernels.manifold")
PAIRS = 5


def tall(n: int) -> Tables:
    """A case with n through-dowelled shelves, each a height of its own above the one below."""
    shelves = [
        shelf(
            f"s{i}",
            14.0 + 0.2 * i,
            fixing="through-dowel",
            **({"above": f"s{i - 1}"} if i else {}),
        )
        for i in range(n)
    ]
    high = max(200.0, 100.0 + sum(32.5 + 0.2 * i for i in range(n)))
    return tables(thick=18.0, case=case(500.0, high, 240.0), shelf=shelves)


def jobs_of(made: Kit) -> list[Job]:
    return [
        Job(item.fixture.family, item.fixture.parameters, made.printer, False)
        for item in made.items
        if item.made is not None
    ]


def test_a_part_costs_the_same_in_a_kit_of_two_hundred() -> None:
    print("\nshelves  parts  to print  checks   kit s  a print ms  (processor time of one process)")
    cost = {}
    kit(read(tall(2)), NAME)
    for n in (5, 11, 24, 49, 72):
        begun = time.process_time()
        made = kit(read(tall(n)), NAME)
        taken = time.process_time() - begun
        prints = sum(item.fixture.quantity for item in made.items)
        cost[prints] = taken / prints
        row = f"{n:7}  {len(made.items):5}  {prints:8}  {len(made.checks):6}  {taken:6.2f}"
        print(f"{row}  {1000 * cost[prints]:10.1f}")
        assert made.holds
    assert cost[max(cost)] < 3 * min(cost.values())


def test_other_processes_share_the_parts() -> None:
    """In turn, here alone and shared by two, their start counted.

    Where processors are free, the shared time is that of whoever works the longest: the ratio of
    processor times is what the clock would show there.
    """
    every = jobs_of(kit(read(tall(49)), NAME))
    print(f"\n{os.cpu_count()} CPUs, load {os.getloadavg()[0]:.1f}; medians of {PAIRS} pairs")
    print("parts  alone s  shared s  ratio (from to)       processor s: alone  here  there  ratio")
    for n in (6, 12, 24, 36, len(every)):
        pairs = [_pair(every[-n:]) for _ in range(PAIRS)]
        ratios = [pair.alone / pair.shared for pair in pairs]
        of_work = [pair.work / max(pair.here, pair.there) for pair in pairs]
        alone, shared, work, here, there = (
            statistics.median(values) for values in zip(*pairs, strict=True)
        )
        print(
            f"{n:5}  {alone:7.2f}  {shared:8.2f}  {statistics.median(ratios):5.2f} "
            f"({min(ratios):.2f} to {max(ratios):.2f})  {work:18.2f}  {here:4.2f}  {there:5.2f}  "
            f"{statistics.median(of_work):5.2f}",
            flush=True,
        )
    assert statistics.median(of_work) > 1.2


class Pair(NamedTuple):
    """Seconds by the clock, alone and shared, and of processor time: alone, here and there."""

    alone: float
    shared: float
    work: float
    here: float
    there: float


def _pair(jobs: Sequence[Job]) -> Pair:
    begun, used = time.perf_counter(), time.process_time()
    one = list(all_done(jobs))
    alone, work = time.perf_counter() - begun, time.process_time() - used
    before = _of_children()
    with Workers(2, LOADS) as workers:
        begun, used = time.perf_counter(), time.process_time()
        workers.start(len(jobs))
        two = list(all_done(jobs, workers))
        shared, here = time.perf_counter() - begun, time.process_time() - used
    for a, b in zip(one, two, strict=True):
        assert a.mesh.vertices.tobytes() == b.mesh.vertices.tobytes()
    return Pair(alone, shared, work, here, _of_children() - before)


def _of_children() -> float:
    """Processor time of the processes that have ended, s."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime
