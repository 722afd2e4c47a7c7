"""The workshop in one's own network: its address, and a QR code of it on the terminal."""

import ipaddress
import os
import socket
import sys
from urllib.parse import urlsplit

from workshop.refusal import Refusal

#: Nothing is sent there (RFC 5737): asking for the way is enough to learn our own address.
ELSEWHERE = ("192.0.2.1", 9)
QUIET_MODULES = 4
BLACK_ON_WHITE, PLAIN = "\x1b[38;5;16;48;5;231m", "\x1b[0m"
#: Two modules, the upper and the lower, in one letter.
HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}


def network_address(named: str) -> str:
    """This machine's address in its network: the one named, or that of the way out."""
    if os.environ.get("DECALJOBS_HTTPS") == "1":
        raise Refusal("--lan is for a workshop without a proxy: DECALJOBS_HTTPS is set")
    address = named or _way_out()
    try:
        found = ipaddress.IPv4Address(address)
    except ValueError as error:
        raise Refusal(f"--lan takes an address such as 192.168.1.20, not {address}") from error
    if found.is_unspecified or found.is_multicast:
        raise Refusal(f"{address} is not one machine's address: name that of your own network")
    return str(found)


def _way_out() -> str:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(ELSEWHERE)
        except OSError as error:
            raise Refusal(
                "This machine is in no network; name its address there: --lan ADDRESS"
            ) from error
        return str(probe.getsockname()[0])


def let_in(address: str, port: int) -> str:
    """Have the pages answer to this address too, before the settings are read; the site."""
    site = f"http://{address}:{port}"
    known = os.environ.setdefault("DECALJOBS_ADDRESS", site)
    names = [os.environ.get("DECALJOBS_HOSTS", ""), address, urlsplit(known).hostname or ""]
    os.environ["DECALJOBS_HOSTS"] = ",".join(name for name in names if name)
    return site


def require_passwords() -> None:
    """Refuse to open the workshop to a network while an owner has no password."""
    from decaljobs.models import Person

    owners = Person.objects.owners()
    without = [str(owner) for owner in owners if not owner.has_usable_password()]
    if without or not owners:
        who = " and ".join(without) or "its owner, who is still to come"
        raise Refusal(
            f"Before the workshop is opened to a network, {who} needs a password:"
            " start without --lan and set it under Settings, My password"
        )


def qr_lines(text: str) -> list[str]:
    """A QR code of the text in half blocks, dark where the terminal writes."""
    from decaljobs.pdf.qr import modules

    side = [False] * QUIET_MODULES
    rows = [[*side, *row, *side] for row in modules(text)]
    empty = [[False] * len(rows[0])] * QUIET_MODULES
    rows = [*empty, *rows, *empty]
    rows += empty[: len(rows) % 2]
    pairs = zip(rows[::2], rows[1::2], strict=True)
    return ["".join(HALVES[pair] for pair in zip(*two, strict=True)) for two in pairs]


def show_qr(text: str) -> None:
    """Print a QR code where the terminal has the letters for it."""
    lines = qr_lines(text)
    try:
        "".join(HALVES.values()).encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return
    coloured = sys.stdout.isatty() and (os.name != "nt" or "WT_SESSION" in os.environ)
    for line in lines:
        print(f"{BLACK_ON_WHITE}{line}{PLAIN}" if coloured else line, flush=True)
