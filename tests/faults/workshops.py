"""A workshop of either database, reached by its commands alone, and all that is in it."""

from __future__ import annotations

import hashlib
import json
import shutil
from pathlib import Path

from tests import postgres
from tests.checkout import TOP, manage

#: What lets somebody in, or answers a form sent twice: left out of every backup on purpose.
LEFT_OUT = {"Device", "EnterLink", "KeptAnswer"}
#: Each kind of record with how many there are and a checksum of all their values.
ROWS = """
import hashlib, json, re
from django.apps import apps
found = {}
for kind in apps.get_app_config("decaljobs").get_models(include_auto_created=True):
    values = kind._base_manager.order_by("pk").values_list()
    # PostgreSQL keeps the keys inside a value in an order of its own, and knows no -0.
    rows = "\\n".join(json.dumps(row, sort_keys=True, default=str) for row in values)
    whole = hashlib.sha256(re.sub(r"-0\\.0\\b", "0.0", rows).encode()).hexdigest()
    found[kind.__name__] = [len(values), whole]
print(json.dumps(found))
"""


class Workshop:
    """Records in one kind of database and files in a folder, reached by commands alone."""

    def __init__(self, folder: Path, server: postgres.Server | None = None) -> None:
        self.folder, self.server = folder, server
        self.settings = {"DECALJOBS_DATA": folder}
        if server is not None:
            self.settings["DATABASE_URL"] = server.address

    def run(self, *command: object) -> str:
        done = manage(TOP, *command, **self.settings)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def rows(self) -> dict[str, list]:
        found = json.loads(self.run("shell", "-v0", "-c", ROWS))
        return {kind: each for kind, each in found.items() if kind not in LEFT_OUT}

    def files(self) -> dict[str, str]:
        media = self.folder / "media"
        return {
            path.relative_to(media).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in media.rglob("*")
            if path.is_file()
        }

    def wipe(self) -> None:
        """Nothing is left of it."""
        shutil.rmtree(self.folder)
        if self.server is not None:
            self.server.empty()
        assert not self.folder.exists()
