"""The virtual environment: the active one as it is, or .venv made and remade when needed."""
# ruff: noqa: B904, UP031

import contextlib
import hashlib
import os
import re
import shutil
import subprocess
import sys

from workshop.refusal import Refusal

TOP = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
FOLDER = os.path.join(TOP, ".venv")
LOCK = ".lock"
RUNNING = "requirements.txt"
TESTING = os.path.join("tests", "requirements.txt")
NO_NETWORK = re.compile(
    "connection|resolve|resolution|unreachable|getaddrinfo|timed out|No matching distribution", re.I
)


def python_for(testing):
    """The path of the Python that has what the command needs, installed first where missing."""
    wanted = [RUNNING, TESTING] if testing else [RUNNING]
    if is_active() and not is_own():
        _require_installed(wanted)
        return sys.executable
    if not _is_complete(wanted):
        _install(wanted)
    return sys.executable if is_own() else own_python()


def is_active():
    """Whether this Python runs in a virtual environment."""
    return sys.prefix != sys.base_prefix


def is_own():
    """Whether this Python runs in the .venv of this checkout."""
    return os.path.realpath(sys.prefix) == os.path.realpath(FOLDER)


def own_python():
    """The path of the Python inside .venv."""
    inside = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    return os.path.join(FOLDER, *inside)


def _require_installed(files):
    """Refuse an active environment that lacks a package; its versions are its owner's affair."""
    from importlib import metadata

    missing = []
    for name in _package_names(files):
        try:
            metadata.distribution(name)
        except metadata.PackageNotFoundError:
            missing.append(name)
    if missing:
        raise Refusal(
            "Missing in the active environment: %s. Install with: %s -m pip install -r %s"
            % (", ".join(missing), sys.executable, os.path.join(TOP, files[-1]))
        )


def _package_names(files):
    return [
        match.group()
        for name in files
        for match in [re.match(r"[A-Za-z0-9][A-Za-z0-9._-]*", line) for line in _lines(name)]
        if match
    ]


def _lines(name):
    with open(os.path.join(TOP, name)) as opened:
        return opened.read().splitlines()


def _fingerprint(name):
    """What .venv depends on: the Python's version and the wording of the requirements."""
    text = "\n".join(["%d.%d" % sys.version_info[:2]] + _lines(name))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def _stamp(name):
    return os.path.join(FOLDER, name.replace(os.sep, "-") + ".installed")


def _stamped(name):
    """The fingerprint that was installed completely, or nothing."""
    try:
        with open(_stamp(name)) as opened:
            return opened.read()
    except OSError:
        return None


def _is_complete(files):
    return os.path.exists(own_python()) and all(
        _stamped(name) == _fingerprint(name) for name in files
    )


def _install(files):
    """Bring .venv up to date, one process at a time; it counts as complete only at the end."""
    try:
        os.makedirs(FOLDER, exist_ok=True)  # another process may be making it at this moment
        with _locked():
            if _is_complete(files):
                return
            if not os.path.exists(own_python()) or any(_is_outdated(name) for name in files):
                _remake()
            _pip_install(files[-1])
            for name in files:
                _write_stamp(name)
    except OSError as error:
        raise Refusal("The environment %s cannot be made: %s" % (FOLDER, error))


def _is_outdated(name):
    """Whether other requirements were installed, or none: only tests may be added to a good one."""
    return _stamped(name) != _fingerprint(name) and (name != TESTING or _stamped(name) is not None)


def _remake():
    _require_venv_module()
    # The stamps go first: whatever stops the rest, what is left does not pass for complete.
    for name in (RUNNING, TESTING):
        if os.path.exists(_stamp(name)):
            os.remove(_stamp(name))
    for name in os.listdir(FOLDER):
        path = os.path.join(FOLDER, name)
        if os.path.isdir(path) and not os.path.islink(path):
            shutil.rmtree(path)
        elif name != LOCK:
            os.remove(path)
    base = getattr(sys, "_base_executable", sys.executable)
    _run([base, "-m", "venv", FOLDER], "The environment .venv could not be made")


def _require_venv_module():
    try:
        import ensurepip  # noqa: F401
        import venv  # noqa: F401
    except ImportError:
        raise Refusal(
            "Python's venv module is missing; on Debian and Ubuntu: apt install python3-venv"
        )


def _pip_install(name):
    sys.stderr.write("Installing what %s lists into .venv; once, a minute or so.\n" % name)
    pip = [own_python(), "-m", "pip", "install", "--disable-pip-version-check", "--no-input"]
    _run(pip + ["-r", os.path.join(TOP, name)], "The packages of %s could not be installed" % name)


def _run(command, failure):
    """Run a step of the installation, its words kept in a log; refuse with the last of them."""
    log = os.path.join(FOLDER, "install.log")
    settings = dict(os.environ, PIP_USER="0")
    with open(log, "w") as opened:
        code = subprocess.call(  # noqa: S603
            command, stdout=opened, stderr=opened, env=settings, close_fds=False
        )
    if code == 0:
        return
    with open(log) as opened:
        words = opened.read()
    errors = [line.strip() for line in words.splitlines() if line.strip()] or ["no reason given"]
    hint = " (is there no network?)" if NO_NETWORK.search(words) else ""
    raise Refusal("%s%s: %s; all of it is in %s" % (failure, hint, errors[-1], log))


def _write_stamp(name):
    with open(_stamp(name), "w") as opened:
        opened.write(_fingerprint(name))


@contextlib.contextmanager
def _locked():
    """Hold the lock of .venv; the system lets go of it however this process ends."""
    with open(os.path.join(FOLDER, LOCK), "a") as opened:
        # Inherited, so that a step that outlives this process still holds it.
        os.set_inheritable(opened.fileno(), True)
        try:
            import fcntl
        except ImportError:
            _lock_on_windows(opened)
        else:
            try:
                fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                sys.stderr.write("Waiting for another installation into .venv to end.\n")
                fcntl.flock(opened, fcntl.LOCK_EX)
        yield


def _lock_on_windows(opened):
    import msvcrt

    while True:
        try:
            return msvcrt.locking(opened.fileno(), msvcrt.LK_LOCK, 1)
        except OSError:  # it gives up after ten seconds; an installation takes longer
            continue
