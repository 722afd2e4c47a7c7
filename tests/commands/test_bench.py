"""The bench from a terminal."""

import json
import subprocess
import sys
from datetime import timedelta
from decimal import Decimal
from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.utils.dateparse import parse_datetime

from decaljobs.craft.doings import Doing
from decaljobs.craft.stages import Stage
from decaljobs.models import Decal, Piece, StageEvent, StockLine, Supply
from decaljobs.services.bench import steps, undoing
from decaljobs.services.stores.supplies import keep_supply
from tests.checkout import TOP, surroundings
from tests.factories import EVENING, make_decal, sealed_decal

pytestmark = pytest.mark.django_db
KEPT = (Decal, Piece, StageEvent, StockLine)


def bench(*options: str) -> dict:
    said = StringIO()
    call_command("bench", "--json", *options, stdout=said)
    return json.loads(said.getvalue())


def test_it_tells_ready_drying_and_held_at_a_moment(maker):
    sealed_decal(maker, place="Bow")
    wet = sealed_decal(maker, place="Stern")
    make_decal(place="Mast")
    steps.log_step(decals=[wet.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    told = bench("--at", (EVENING + timedelta(hours=3)).isoformat())
    assert [(row["decal"], row["progress"]) for row in told["ready"]] == [("Bow", 1.0)]
    (drying,) = told["drying"]
    assert (drying["stage"], drying["next"]) == ("base_applied", "clear_applied")
    assert parse_datetime(drying["ready_at"]) == EVENING + timedelta(hours=12)
    assert drying["progress"] == 0.25
    assert drying["reason"].startswith("3 of 12 reference hours")
    assert [(row["decal"], row["progress"]) for row in told["held"]] == [("Mast", None)]
    assert told["held"][0]["ready_at"] is None
    later = bench("--at", (EVENING + timedelta(hours=12)).isoformat())
    assert [(row["decal"], row["stage"]) for row in later["ready"]][-1] == ("Stern", "cured")


def told_at(hours: float) -> dict[str, list[str]]:
    """What the terminal tells of a moment so many hours from the evening on."""
    told = bench("--at", (EVENING + timedelta(hours=hours)).isoformat())
    return {
        name: [f"{row['decal']} {row['stage']}" for row in told[name]]
        for name in ("ready", "drying", "held")
    }


def test_a_moment_gone_by_is_told_as_it_was_and_nothing_is_kept_of_that(maker):
    """Base laid at 0 h, clear laid at 13 h and taken back at 14 h, laid again at 15 h."""
    keep_supply(
        supply=Supply(name="Fluid", kind="fluid"),
        uses=dict.fromkeys([Doing.COAT, Doing.BASE, Doing.CLEAR], Decimal(1)),
    )
    decal = sealed_decal(maker, place="Bow")

    def log(step, hours):
        moment = EVENING + timedelta(hours=hours)
        return steps.log_step(decals=[decal.pk], step=step, by=maker, moment=moment)

    log(Stage.BASE_APPLIED, 1)
    log(Stage.CLEAR_APPLIED, 13.5)
    undoing.undo_last(decal=decal.pk, by=maker, moment=EVENING + timedelta(hours=14))
    log(Stage.CLEAR_APPLIED, 15)
    before = [list(model.objects.order_by("pk").values()) for model in KEPT]
    with time_machine.travel(EVENING + timedelta(hours=20), tick=False):
        assert told_at(0.5) == {"ready": ["Bow sealed"], "drying": [], "held": []}
        assert told_at(3) == {"ready": [], "drying": ["Bow base_applied"], "held": []}
        assert told_at(13.2) == {"ready": ["Bow cured"], "drying": [], "held": []}
        assert told_at(13.7) == {"ready": [], "drying": ["Bow clear_applied"], "held": []}
        assert told_at(14.5) == {"ready": ["Bow cured"], "drying": [], "held": []}
        assert told_at(16) == {"ready": [], "drying": ["Bow clear_applied"], "held": []}
        assert told_at(20) == told_at(16)
    after = [list(model.objects.order_by("pk").values()) for model in KEPT]
    assert after == before


def test_a_sheet_not_yet_sealed_then_and_a_decal_not_yet_begun_are_told_as_they_were(maker):
    sealed_decal(maker, place="Bow", moment=EVENING - timedelta(days=4))
    with time_machine.travel(EVENING + timedelta(hours=1), tick=False):
        make_decal(place="Mast", moment=EVENING)
        assert told_at(0)["ready"] == ["Bow sealed"]
        assert told_at(-59) == {"ready": [], "drying": [], "held": ["Bow printed"]}
        assert told_at(-61) == {"ready": [], "drying": [], "held": ["Bow planned"]}
        assert told_at(-24 * 5) == {"ready": [], "drying": [], "held": []}


def test_it_ends_quietly_when_its_reader_has_seen_enough(tmp_path):
    command = [sys.executable, str(TOP / "manage.py"), "help"]
    surroundings_ = surroundings(DECALJOBS_DATA=tmp_path / "data")
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=surroundings_
    ) as talking:
        talking.stdout.close()
        assert talking.stderr.read() == b""
        assert talking.wait(timeout=60) == 141


def test_it_takes_a_moment_in_the_workshop_s_zone(maker):
    assert bench("--at", "2026-07-01T12:00")["at"] == "2026-07-01T12:00:00+01:00"


@pytest.mark.parametrize("text", ["yesterdayish", "2026-13-01T10:00", ""])
def test_it_rejects_what_is_no_moment(text):
    with pytest.raises(CommandError, match="is not a moment"):
        call_command("bench", "--at", text)


def test_it_reads_well_without_json(maker, capsys):
    sealed_decal(maker, place="Bow")
    call_command("bench")
    assert "Ready: 1\n  P-01  Bow: base applied" in capsys.readouterr().out
