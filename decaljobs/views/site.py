"""Addresses as somebody away from this machine can open them."""

from __future__ import annotations

import ipaddress
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest


def outside_address(request: HttpRequest, path: str) -> str:
    """The whole address of a path, for paper and telephones.

    Asked on this machine itself, it begins with the address that the network knows, if any.
    """
    known = settings.SITE_ADDRESS.rstrip("/")
    if is_loopback(request.get_host()) and not is_loopback(urlsplit(known).netloc):
        return known + path
    return request.build_absolute_uri(path)


def is_reachable(request: HttpRequest) -> bool:
    """Whether another machine can open the addresses that are handed out."""
    return not is_loopback(urlsplit(outside_address(request, "/")).netloc)


def is_loopback(host: str) -> bool:
    """Whether a host, with its port or without, names this machine to itself alone."""
    name = urlsplit(f"//{host}").hostname or ""
    try:
        return ipaddress.ip_address(name).is_loopback
    except ValueError:
        return name == "localhost"
