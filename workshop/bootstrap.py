"""From a bare Python to a running command: find or make the environment, then hand over.

This file, environment.py, options.py and refusal.py parse on Python 2.7 and import nothing but
the standard library, so that an old Python can say what is wrong instead of failing to read them.
"""
# ruff: noqa: UP031

import errno
import os
import signal
import subprocess
import sys

from workshop import environment, options
from workshop.refusal import Refusal

OLDEST_PYTHON = (3, 11)
ENDED_BY_PIPE = 128 + 13  # as a shell tells it
MANAGE = os.path.join(environment.TOP, "manage.py")
OWN_COMMANDS = """\
start   serve the workshop and open it in the browser (start --help for its options)
test    run the tests; arguments are passed on to pytest
"""


def main(arguments):
    """Run one command of manage.py; the exit code."""
    try:
        require_python()
        signal.signal(signal.SIGTERM, _end)
        code = run(arguments)
        sys.stdout.flush()
        return code
    except Refusal as refusal:
        sys.stderr.write("%s\n" % refusal)
        return 1
    except OSError as error:
        if error.errno != errno.EPIPE:
            raise
        # Whoever read along, such as head, has seen enough. At its end Python would try again.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return ENDED_BY_PIPE
    except KeyboardInterrupt:
        sys.stderr.write("Stopped.\n")
        return 128 + signal.SIGINT


def require_python():
    """Refuse a Python that the program cannot run on."""
    if sys.version_info[:2] < OLDEST_PYTHON:
        found = ".".join(str(part) for part in sys.version_info[:3])
        raise Refusal("Python 3.11 or newer is needed; this is %s" % found)


def run(arguments):
    """Run the command in its environment, making that first where needed; the exit code."""
    command = arguments[0] if arguments else "help"
    choices = options.of_start(arguments[1:]) if command == "start" else None
    if command != "test":
        options.check_folder(choices.data if choices else options.data_folder())
    if choices:
        options.check_port(choices.port)
    python = environment.python_for(testing=command == "test")
    if command == "test":
        return hand_over([python, "-m", "pytest"] + arguments[1:], environment.TOP)
    if python != sys.executable:
        return hand_over([python, MANAGE] + arguments, stop_alone=command == "start")
    if choices:
        from workshop.serve import start

        return start(choices)
    return run_django(arguments)


def run_django(arguments):
    """Run a command of Django's own, or one of ours that Django finds; the exit code."""
    from django.core.management import execute_from_command_line

    if arguments[:1] in ([], ["help"]) and len(arguments) < 2:
        sys.stdout.write(OWN_COMMANDS)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    execute_from_command_line([MANAGE] + arguments)
    return 0


def hand_over(command, folder=None, stop_alone=False):
    """Run the command as a child that is told to end when this process is; its exit code.

    A child and not an exec, since Windows has none. With stop_alone an interrupt sent to this
    process only is passed on too, and an asked-for end counts as success.
    """
    asked, children = [], []

    def pass_on(signum, frame):
        asked.append(signum)
        if signum == signal.SIGTERM or (stop_alone and os.name != "nt"):
            for child in children:
                child.terminate()

    signal.signal(signal.SIGTERM, pass_on)
    # A handler and not SIG_IGN, which the child would inherit.
    signal.signal(signal.SIGINT, pass_on)
    children.append(subprocess.Popen(command, cwd=folder))  # noqa: S603
    if asked:
        children[0].terminate()
    code = children[0].wait()
    if asked and stop_alone:
        return 0
    return code if code >= 0 else 128 - code


def _end(signum, frame):
    sys.exit(128 + signum)
