"""Parts built by others: the same kit whoever builds it, and processes that end in time."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import (
    BrokenExecutor,
    Executor,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
)
from functools import cache
from multiprocessing import active_children, get_context
from pathlib import Path
from typing import Any, NoReturn

import pytest

from fixtures.errors import Fault, InputError, KernelError, PartRefused
from fixtures.export import stl
from fixtures.jobs import Job, all_done, done
from fixtures.kit import Kit, kit
from fixtures.parts.catalog import family
from fixtures.parts.spacer_block import FAMILY
from fixtures.printer import Printer
from fixtures.telling.kit import kit_document, sheet
from fixtures.workers import EACH, Workers, cores
from tests.cli.running import ROOT
from tests.piece.making import NAME, Tables, case, read, shelf, tables


class Backwards(Executor):
    """Does what it is given from the last to the first, as a badly timed pool might."""

    def map(
        self,
        fn: Callable[..., Any],
        *iterables: Iterable[Any],
        timeout: float | None = None,
        chunksize: int = 1,
    ) -> Iterator[Any]:
        calls = list(zip(*iterables, strict=True))
        return iter([fn(*call) for call in reversed(calls)][::-1])


def told() -> Tables:
    return tables(
        thick=18.0,
        case=case(420.0, 360.0, 240.0),
        shelf=[shelf("a", 110.0, fixing="dowel")],
    )


@cache
def alone() -> Kit:
    return kit(read(told()), NAME)


def written(made: Kit) -> tuple[object, ...]:
    """All that a kit writes: bytes of every part, the sheet and the document."""
    parts = [stl.encode(item.made.mesh, item.made.name) for item in made.items if item.made]
    return *parts, sheet(made), kit_document(made, {})


@pytest.mark.parametrize("workers", [1, 2, 5])
def test_threads_make_the_same_kit(workers: int) -> None:
    doing: list[str] = []
    with ThreadPoolExecutor(workers) as executor:
        made = kit(read(told()), NAME, doing.append, executor)
    assert written(made) == written(alone())
    assert doing == [
        "planning",
        *(item.fixture.name for item in made.items),
        "proving",
        "laying out",
    ]


def test_whoever_works_backwards_makes_the_same_kit() -> None:
    assert written(kit(read(told()), NAME, executor=Backwards())) == written(alone())


@pytest.mark.slow
def test_processes_make_the_same_kit() -> None:
    """Each has a hash seed of its own, so no order of a set may get into a file."""
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as executor:
        assert written(kit(read(told()), NAME, executor=executor)) == written(alone())
    with Workers(2) as workers:
        workers.start(2 * EACH)
        assert workers.processes == 1
        assert written(kit(read(told()), NAME, executor=workers)) == written(alone())


# --- jobs -------------------------------------------------------------------------------------


def job(name: str, **values: Any) -> Job:
    return Job(name, family(name).parameters.model_validate(values), Printer(), False)


def test_a_job_holds_names_and_numbers_and_no_mesh() -> None:
    import pickle

    sent = pickle.dumps(job("spacer-block", height=100.0))
    assert len(sent) < 2000
    part = done(pickle.loads(sent)).part
    assert part == FAMILY.build(FAMILY.parameters(height=100.0), Printer())


def test_results_come_in_the_order_of_the_jobs() -> None:
    heights = [90.0, 40.0, 70.0]
    jobs = [job("spacer-block", height=height) for height in heights]
    with ThreadPoolExecutor(3) as executor:
        made = list(all_done(jobs, executor))
    assert [item.part.mark for item in made] == [done(one).part.mark for one in jobs]


# --- errors -----------------------------------------------------------------------------------


def refuses(what: str) -> str:
    if what == "part":
        raise PartRefused(
            Fault("slot", "3", "The slot is closed.", "Open it."),
            Fault("bore", "", "The bore is closed.", "Drill it."),
        )
    if what == "kernel":
        raise KernelError("the kernel broke its word")
    return what


@pytest.mark.slow
def test_an_error_in_another_process_is_the_same_error_here() -> None:
    with Workers(2) as workers:
        found = workers.map(refuses, ["a", "b", "c", "part", "kernel", "f", "g"])
        assert [next(found) for _ in range(3)] == ["a", "b", "c"]
        with pytest.raises(PartRefused) as refusal:
            next(found)
        assert [fault.where for fault in refusal.value.faults] == ["slot", "bore"]
        assert refusal.value.faults[0].remedy == "Open it."
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        with pytest.raises(PartRefused) as refusal:
            pool.submit(refuses, "part").result()
        assert refusal.value.faults[1] == Fault("bore", "", "The bore is closed.", "Drill it.")
        with pytest.raises(KernelError, match="broke its word"):
            pool.submit(refuses, "kernel").result()


def test_a_part_that_cannot_be_made_is_refused_whoever_builds_it() -> None:
    """A socket for a panel nobody measured."""
    jobs = [job("spacer-block", height=60.0), job("corner-socket")]
    for executor in (None, Backwards()):
        with pytest.raises(InputError, match="no thickness reading"):
            list(all_done(jobs, executor))


# --- workers ----------------------------------------------------------------------------------


def where(n: int) -> tuple[int, int]:
    time.sleep(0.02)
    return n, os.getpid()


def test_few_calls_are_done_here_and_nothing_is_started() -> None:
    with Workers(8) as workers:
        done_by = list(workers.map(where, range(2 * EACH - 1)))
        assert workers.processes == 0
    assert done_by == [(n, os.getpid()) for n in range(2 * EACH - 1)]


def test_one_at_once_is_this_process_alone() -> None:
    with Workers(1) as workers:
        workers.start(1000)
        assert [pid for _, pid in workers.map(where, range(20))] == [os.getpid()] * 20
        assert workers.processes == 0


def test_a_call_alone_is_done_here() -> None:
    with Workers(2) as workers:
        assert workers.submit(where, 3).result() == (3, os.getpid())
        with pytest.raises(PartRefused):
            workers.submit(refuses, "part").result()


@pytest.mark.slow
def test_others_and_this_process_share_the_calls_in_order() -> None:
    before = active_children()
    with Workers(3) as workers:
        workers.start(40)
        assert workers.processes == 2
        found = list(workers.map(where, range(60)))
        assert [n for n, _ in found] == list(range(60))
        by = {pid for _, pid in found}
        assert os.getpid() in by
        assert len(by) >= 2
    assert active_children() == before


def nap(seconds: float) -> None:
    if seconds < 0.0:
        raise KeyboardInterrupt
    time.sleep(seconds)


def interrupted() -> None:
    """Others sleep for a minute when this process, which takes the last call, is interrupted."""
    with Workers(2) as workers:
        list(workers.map(nap, [60.0] * 2 * EACH + [-1.0]))


@pytest.mark.slow
def test_an_interrupt_here_ends_the_other_processes_at_once() -> None:
    begun = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert time.monotonic() - begun < 20.0
    assert active_children() == []


def leaves(n: int, here: int) -> int:
    if os.getpid() != here:
        os._exit(1)
    time.sleep(0.3)
    return n


@pytest.mark.slow
def test_a_process_that_is_ended_from_outside_is_no_silence() -> None:
    with Workers(2) as workers:
        found = workers.map(leaves, range(12), [os.getpid()] * 12)
        with pytest.raises(BrokenExecutor):
            list(found)


def test_where_no_processes_can_be_had_all_is_done_here(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object, **__: object) -> NoReturn:
        raise OSError("no semaphores")

    monkeypatch.setattr("fixtures.workers.ProcessPoolExecutor", none)
    with Workers(4) as workers:
        workers.start(100)
        assert [n for n, _ in workers.map(where, range(20))] == list(range(20))
        assert workers.processes == 0


def test_there_is_a_processor_at_least() -> None:
    assert 1 <= cores() <= (os.cpu_count() or 1)


TELLS = """
import sys
from fixtures import cli
from fixtures.cli.progress import Progress
Progress.step = lambda self, doing, *part: print(doing, flush=True)
sys.argv = ["panelry", *sys.argv[1:]]
cli.main()
"""
"""The command line, telling at once what it does."""


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="an interrupt goes to a whole process group there")
def test_an_interrupt_ends_kit_and_processes_and_writes_nothing(tmp_path: Path) -> None:
    """As a terminal does it: the whole group is interrupted, and only one line is said."""
    piece, folder = str(ROOT / "examples" / "tool-shelf.toml"), tmp_path / "out"
    running = subprocess.Popen(
        [sys.executable, "-c", TELLS, "kit", piece, "--out", str(folder), "--jobs", "2"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert running.stdout is not None
    assert running.stdout.readline() == "planning\n"
    assert "corner-socket" in running.stdout.readline()
    os.killpg(running.pid, signal.SIGINT)
    _, err = running.communicate(timeout=60)
    assert running.returncode == 130
    assert err.strip() == "Stopped. Nothing was written."
    assert not folder.exists()
    assert ended(running.pid)


def ended(group: int) -> bool:
    """Whether nobody of a process group is left, within five seconds."""
    for _ in range(50):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.1)
    return False
