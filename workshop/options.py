"""What `start` may be told, and whether it can be done before anything is installed."""
# ruff: noqa: B904, UP031

import argparse
import errno
import os
import socket
import tempfile

from workshop.environment import TOP
from workshop.refusal import Refusal

HOST = "127.0.0.1"
DEFAULT_PORT = 8000
MOST_PROCESSES = 16


def of_start(arguments):
    """The choices given to `start`, its data folder made absolute."""
    parser = argparse.ArgumentParser(
        prog="manage.py start",
        description="Serve the workshop on this machine and open it in the browser.",
    )
    parser.add_argument("--demo", action="store_true", help="the example workshop, kept apart")
    parser.add_argument("--data", metavar="FOLDER", help="where the records are kept")
    parser.add_argument(
        "--port",
        type=_port,
        default=DEFAULT_PORT,
        help="%d unless told; 0 takes any free one" % DEFAULT_PORT,
    )
    parser.add_argument(
        "--lan",
        nargs="?",
        const="",
        metavar="ADDRESS",
        help="serve your own network too, so that a phone can come in",
    )
    parser.add_argument(
        "--processes",
        type=_processes,
        default=usual_processes(),
        metavar="NUMBER",
        help="how many answer pages; %(default)s unless told",
    )
    parser.add_argument("--no-browser", action="store_true", help="print the link, open nothing")
    choices = parser.parse_args(arguments)
    choices.data = data_folder(choices.data, choices.demo)
    return choices


def _port(text):
    try:
        number = int(text)
    except ValueError:
        number = -1
    if not 0 <= number <= 65535:
        raise argparse.ArgumentTypeError("a port is a number from 0 to 65535, not %s" % text)
    return number


def usual_processes():
    """How many processes answer pages where nobody says: one a processor, two at most.

    Each has its own memory; and Windows hands no open port on to another process.
    """
    return 1 if os.name == "nt" else min(2, os.cpu_count() or 1)


def _processes(text):
    most = 1 if os.name == "nt" else MOST_PROCESSES
    if text not in [str(number) for number in range(1, most + 1)]:
        raise argparse.ArgumentTypeError("processes are a number from 1 to %d" % most)
    return int(text)


def data_folder(named=None, demo=False):
    """The data folder; the example workshop never mixes with the maker's own by default."""
    usual = os.environ.get("DECALJOBS_DATA") or os.path.join(TOP, ".data")
    folder = named or (usual.rstrip("/\\") + "-demo" if demo else usual)
    return os.path.abspath(os.path.expanduser(folder))


def check_folder(folder):
    """Make the data folder where missing; refuse one that cannot be written to."""
    try:
        if not os.path.isdir(folder):
            os.makedirs(folder, 0o700)
        with tempfile.TemporaryFile(dir=folder):
            pass
        for name in os.listdir(folder):
            if not os.access(os.path.join(folder, name), os.R_OK | os.W_OK):
                raise OSError(errno.EACCES, "%s belongs to somebody else" % name)
    except OSError as error:
        raise Refusal(
            "The data folder %s cannot be written to (%s);"
            " name another with DECALJOBS_DATA or start --data FOLDER" % (folder, error.strerror)
        )


def check_port(port):
    """Refuse a port that another program holds."""
    probe = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name != "nt":  # there the option would let two programs share the port
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind((HOST, port))
        probe.listen(1)
    except OSError as error:
        raise port_refused(port, error)
    finally:
        probe.close()


def port_refused(port, error):
    """The refusal for a port that could not be opened."""
    if error.errno in (errno.EADDRINUSE, getattr(errno, "WSAEADDRINUSE", errno.EADDRINUSE)):
        return Refusal(
            "Port %d is taken: the workshop is open already, or another program holds it;"
            " choose another with --port" % port
        )
    return Refusal("Port %d cannot be opened: %s" % (port, error.strerror))
