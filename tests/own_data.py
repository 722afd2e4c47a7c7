"""Loaded before the settings are read: tests, and each of their workers, have their own data."""

import atexit
import os
import shutil
import tempfile

_folder = tempfile.mkdtemp(prefix="decaljobs-tests-")
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ["DECALJOBS_DATA"] = _folder
