"""A machine without a browser skips these tests and says why; where they are required, it fails."""

import os
import subprocess
import sys

import pytest

from tests.checkout import TOP, surroundings


def run_without_a_browser(folder, **settings):
    """One browser test, where no program can be found by its name."""
    command = [sys.executable, "-m", "pytest", "-q", "-rs", "-p", "no:cacheprovider"]
    command += ["tests/browser/test_bench.py", "-k", "second_of_two", "-m", ""]
    surrounding = surroundings(**settings) | {"PATH": str(folder)}
    return subprocess.run(
        command, env=surrounding, cwd=TOP, capture_output=True, text=True, timeout=120, check=False
    )


@pytest.mark.skipif(os.name == "nt", reason="needs an empty PATH")
def test_it_skips_and_says_why(tmp_path):
    done = run_without_a_browser(tmp_path)
    assert done.returncode == 0, done.stdout
    assert "1 skipped" in done.stdout
    assert "install Debian's package chromium" in done.stdout


@pytest.mark.skipif(os.name == "nt", reason="needs an empty PATH")
def test_it_fails_where_browser_tests_are_required(tmp_path):
    done = run_without_a_browser(tmp_path, DECALJOBS_BROWSER_TESTS="required")
    assert done.returncode == 1, done.stdout
    assert "A browser test may not be skipped here: Skipped: no browser here" in done.stdout
