"""Long questions on a cluster: a real one of a scheduler and two workers on this machine, of which
one is killed while it computes. The cluster is that of dask.distributed."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from foresight.risk_folder import AS_OF, timeless, write_risk_folder
from places import ROOT

from harvestplan.foresight.crew import ClusterError, crew
from harvestplan.foresight.risk import risk

LOCAL = "127.0.0.1"


class Cluster:
    """A scheduler and its workers, programs of their own."""

    def __init__(self, folder: Path) -> None:
        self.notes = folder / "scheduler.json"
        self._folder = folder
        self._scheduler = self._begin("scheduler", "--port", "0", "--no-show")
        self._wait_for_notes()
        self.workers = [
            self._begin("worker", "--nworkers", "1", "--nthreads", "1", "--local-directory", str(
                folder / f"worker-{number}"))
            for number in range(2)
        ]  # fmt: skip

    def _begin(self, program: str, *words: str) -> subprocess.Popen[bytes]:
        command = [
            sys.executable, "-m", f"distributed.cli.dask_{program}", *words,
            "--host", LOCAL, "--no-dashboard", "--scheduler-file", str(self.notes),
        ]  # fmt: skip
        return subprocess.Popen(
            command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )

    def _wait_for_notes(self) -> None:
        for _ in range(3000):  # against hanging: it takes some seconds
            if self.notes.exists() and self.notes.read_text(encoding="utf-8").strip():
                return
            assert self._scheduler.poll() is None
            time.sleep(0.1)
        raise AssertionError("the scheduler never told its address")

    @property
    def address(self) -> str:
        import json

        address: str = json.loads(self.notes.read_text(encoding="utf-8"))["address"]
        return address

    def end(self) -> None:
        for program in (*self.workers, self._scheduler):
            program.kill()
            program.wait()


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[Cluster]:
    cluster = Cluster(tmp_path)
    yield cluster
    cluster.end()


def test_a_worker_killed_in_the_middle_changes_no_answer(cluster: Cluster, tmp_path: Path) -> None:
    folders = [
        write_risk_folder(tmp_path / "one"),
        write_risk_folder(tmp_path / "other", ("portions = 8", "portions = 4")),
    ]
    victim, killed = cluster.workers[0], []

    def say(text: str) -> None:
        if text.startswith("2 of 10"):
            victim.send_signal(signal.SIGKILL)
            killed.append(victim.wait())

    there = risk(folders, AS_OF, 1, say=say, on=cluster.address)
    assert killed == [-signal.SIGKILL]
    here = risk(folders, AS_OF, 1, say=lambda text: None)
    assert [timeless(each) for each in there] == [timeless(each) for each in here]


def test_where_no_cluster_answers_it_is_said() -> None:
    with (
        pytest.raises(ClusterError, match=r"No cluster answers at tcp://127\.0\.0\.1:9"),
        crew(f"tcp://{LOCAL}:9"),
    ):
        pass


def test_an_address_that_is_none_is_said() -> None:
    with pytest.raises(ClusterError, match="No cluster answers at"), crew("no address"):
        pass


def test_what_goes_wrong_beside_it_is_not_blamed_on_the_cluster(cluster: Cluster) -> None:
    with pytest.raises(FileNotFoundError), crew(cluster.address):
        raise FileNotFoundError("no season.toml")


def test_a_scheduler_that_ends_in_the_middle_is_said(cluster: Cluster) -> None:
    with pytest.raises(ClusterError, match="The cluster at"), crew(cluster.address) as team:
        cluster.end()
        list(team.each(abs, [(-1,), (-2,)]))
