"""Everything judged again by another version: the same answer however often it is stopped."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection
from tests.services.sheets import BY, NOW, import_rows, row, timed

from stell.core.errors import ProtocolError, RecordError
from stell.core.verdict import Outcome
from stell.services import deciding, flocks, protocols, rams
from stell.services.opening import open_store
from stell.services.rejudging import changes, rejudge
from stell.store import models
from stell.store.settings import FILE_NAME

ROOT = Path(__file__).parents[2]
LATER = NOW + timedelta(days=30)
# In the stricter version a soft testis rejects, where the first one defers.
STRICTER = 'label = "soft"\neffects = [{ kind = "defer", days = 60 }] -> '
STRICTER += 'label = "soft"\neffects = [{ kind = "reject" }]'


def stricter():
    """Return version 2 of the protocol."""
    return timed("2", soft=STRICTER)


def fill(number: int = 12) -> None:
    """Put a flock on record in which every third ram has a soft testis and every fourth a hard."""
    flocks.add_flock("Hill End", latitude_deg=54.0, by=BY, now=NOW)
    rows = [
        row(
            n,
            tag=f"{n:04d}",
            tone_left="soft" if n % 3 == 0 else "firm",
            tone_right="hard" if n % 4 == 0 else "firm",
        )
        for n in range(number)
    ]
    assert import_rows(rows, "Hill End", timed()).stored == number


def test_verdicts_are_added_and_the_first_ones_stay(store: object) -> None:
    fill()
    told: list[tuple[int, int]] = []
    summary = rejudge(
        stricter(), by=BY, now=LATER, batch=5, progress=lambda d, t: told.append((d, t))
    )
    # Of 0 … 11: soft are 0, 3, 6, 9; hard are 0, 4, 8. Only 3, 6 and 9 are soft and not hard.
    soft, hard, well = Outcome.DEFERRED, Outcome.UNSATISFACTORY, Outcome.SATISFACTORY
    assert summary.moves == {(soft, hard): 3, (hard, hard): 3, (well, well): 6}
    assert (summary.total, summary.judged, summary.already, summary.changed) == (12, 12, 0, 3)
    assert told == [(5, 12), (10, 12), (12, 12)]
    assert models.Judgement.objects.count() == 24
    first = models.Judgement.objects.filter(protocol_version__version="1")
    assert first.filter(outcome="deferred").count() == 3, "the first verdicts were changed"
    changed = list(changes(stricter()))
    assert sorted(c.ram_label for c in changed) == ["0003", "0006", "0009"]
    assert {(c.before, c.after) for c in changed} == {(soft, hard)}


def test_once_more_judges_nothing(store: object) -> None:
    fill()
    rejudge(stricter(), by=BY, now=LATER)
    again = rejudge(stricter(), by=BY, now=LATER)
    assert (again.judged, again.already, again.changed) == (0, 12, 3)


def test_what_stands_is_still_what_was_judged_first(store: object) -> None:
    fill()
    rejudge(stricter(), by=BY, now=LATER)
    entry = rams.history("0003").entries[0]
    assert (entry.protocol, entry.decision.outcome) == ("timed 1", Outcome.DEFERRED)


def test_a_replaced_record_is_judged_and_not_counted(store: object) -> None:
    fill(4)
    exam = models.Examination.objects.get(ram__tag="0003")
    deciding.correct(
        str(exam.id), {"observations": {"tone_left": "firm"}}, "typo", by=BY, now=LATER
    )
    summary = rejudge(stricter(), by=BY, now=LATER)
    assert (summary.total, summary.judged, summary.changed) == (5, 5, 0)


def test_a_run_that_was_stopped_goes_on(store: object) -> None:
    fill()

    class Stopped(Exception):
        pass

    def stop(done: int, total: int) -> None:
        if done >= 6:
            raise Stopped

    with pytest.raises(Stopped):
        rejudge(stricter(), by=BY, now=LATER, batch=3, progress=stop)
    assert models.Judgement.objects.filter(protocol_version__version="2").count() == 6
    with pytest.raises(RecordError, match="is not finished") as caught:
        rejudge(stricter(), by=BY, now=LATER, resume=False)
    assert caught.value.got == "6 of 12 examinations judged"
    summary = rejudge(stricter(), by=BY, now=LATER, batch=3)
    assert (summary.judged, summary.was_resumed, summary.changed) == (12, True, 3)


def test_what_came_in_behind_the_walk_is_judged_too(store: object) -> None:
    fill()

    def slip_in(done: int, total: int) -> None:
        if done == 6:
            # An id of long ago: a phone whose clock stood still.
            own = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
            import_rows([row(2, tag="9999", exam_id=own)], "Hill End", timed())

    summary = rejudge(stricter(), by=BY, now=LATER, batch=3, progress=slip_in)
    assert summary.judged == 13
    assert not models.Examination.objects.exclude(judgements__protocol_version__version="2")


def test_the_stored_verdict_is_what_the_judge_gives(store: object) -> None:
    fill()
    rejudge(stricter(), by=BY, now=LATER)
    from stell.core.judge import judge
    from stell.store import mapping

    for exam in models.Examination.objects.select_related("ram"):
        verdict = judge(
            stricter(),
            mapping.ram_then(exam, mapping.ram_of(exam.ram)),
            mapping.examination_of(exam),
            mapping.season_of(exam),
        )
        stored = exam.judgements.get(protocol_version__version="2")
        assert stored.outcome == verdict.outcome.value, exam
        assert stored.rules == mapping.short(verdict).rules


def test_a_version_stands_for_one_text(store: object) -> None:
    protocols.register(timed().text, by=BY, now=NOW)
    protocols.register(timed().text, by="somebody else", now=LATER)
    other = timed().text.replace('title = "Mini"', 'title = "Mini, changed"')
    with pytest.raises(ProtocolError, match="on record with other contents") as caught:
        protocols.register(other, by=BY, now=NOW)
    assert caught.value.code == "protocol.version"
    (only,) = protocols.all_protocols()
    assert (only.named, only.registered_by) == ("timed 1", BY)
    assert protocols.load_registered("timed 1").digest == timed().digest
    with pytest.raises(ProtocolError, match="no protocol of that name and version") as caught:
        protocols.load_registered("timed 9")
    assert caught.value.legal == "timed 1"


def test_judgements_are_counted_by_version(store: object) -> None:
    fill(4)
    rejudge(stricter(), by=BY, now=LATER)
    assert [(p.named, p.judgements) for p in protocols.all_protocols()] == [
        ("timed 1", 4),
        ("timed 2", 4),
    ]


KILLED = """
import sys
from pathlib import Path
from stell.services.opening import open_store
from stell.services.rejudging import rejudge
from tests.services.test_rejudging import BY, LATER, stricter
open_store(Path(sys.argv[1]))
print("begun", flush=True)
def stored(done, total):
    print("stored", flush=True)
done = rejudge(stricter(), by=BY, now=LATER, batch=25, progress=stored)
print("changed", done.changed, flush=True)
"""


def program(folder: Path) -> subprocess.Popen[str]:
    """Start a run in a program of its own."""
    return subprocess.Popen(
        [sys.executable, "-c", KILLED, str(folder)],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"},
        stdout=subprocess.PIPE,
        text=True,
    )


def verdicts(folder: Path) -> list[tuple[str, str, str]]:
    """Return what version 2 says of every examination."""
    with sqlite3.connect(folder / FILE_NAME) as file:
        found = file.execute(
            "SELECT examination_id, outcome, rules FROM store_judgement j "
            "JOIN store_protocolversion v ON v.id = j.protocol_version_id "
            "WHERE v.version = '2' ORDER BY 1"
        ).fetchall()
    file.close()
    return found


@pytest.mark.slow
def test_killed_again_and_again_it_comes_to_the_same_end(
    sqlite_store: Path, tmp_path: Path
) -> None:
    fill(1500)
    connection.close()
    straight = shutil.copytree(sqlite_store, tmp_path / "straight")
    changed = program(straight).communicate()[0].splitlines()[-1]
    chance = random.Random(5)
    kills = 0
    while True:
        run = program(sqlite_store)
        assert run.stdout is not None
        # Killed after some batches, not after some time: the machine may be slow or busy.
        said = [run.stdout.readline() for _ in range(chance.randint(1, 10))]
        time.sleep(chance.uniform(0, 0.01))
        run.send_signal(signal.SIGKILL)
        said = "".join([*said, run.communicate()[0]]).splitlines()
        if said and said[-1].startswith("changed"):
            break
        kills += 1
        assert kills < 100, "it makes no headway"
    assert kills >= 3, f"only {kills} kills: the run is too short to prove anything"
    assert said[-1] == changed
    assert verdicts(sqlite_store) == verdicts(straight)
    assert len(verdicts(straight)) == 1500
    open_store(sqlite_store)
    assert models.RejudgeRun.objects.get().done == 1500, "it was counted twice"
