"""Twenty makers log steps for ten seconds: every step that was answered is in the log, once."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.checkout import TOP, manage, surroundings

SECONDS = 10


@pytest.mark.slow
def test_twenty_makers_at_once_lose_nothing(tmp_path: Path, capsys) -> None:
    own = {"DECALJOBS_DATA": tmp_path / "data"}
    for command in (("migrate", "-v0"), ("load_demo",)):
        run = manage(TOP, *command, **own)
        assert run.returncode == 0, run.stderr
    run = subprocess.run(
        [sys.executable, "-m", "tests.faults.crowd", str(SECONDS)],
        cwd=TOP,
        env=surroundings(**own),
        capture_output=True,
        text=True,
        timeout=12 * SECONDS,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    found = json.loads(run.stdout)
    with capsys.disabled():
        print(f"\n{found['a_second']:.0f} steps a second, p99 {found['p99']:.2f} s", end=" ")
        print(f"(processor {found['busy_ms']:.1f} ms each)")
    assert found["makers"] == 20
    assert found["wrong"] == []
    assert found["changes"] == found["lines"] == found["counted"]
    assert found["changes"] > 20, "some maker got nowhere"
    folder = tmp_path / "data" / "backups"
    folder.mkdir(exist_ok=True)
    manage(TOP, "backup", folder / "by-hand-2030-01-01T00-00-00.zip", **own)
    look = manage(TOP, "doctor", "--json", **own)
    assert json.loads(look.stdout)["findings"] == [], look.stdout
