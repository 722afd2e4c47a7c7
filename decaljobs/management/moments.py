"""Moments typed on a command line."""

from argparse import ArgumentTypeError
from datetime import datetime

from django.utils import timezone
from django.utils.dateparse import parse_datetime


def moment_argument(text: str) -> datetime:
    """An ISO 8601 moment; without an offset it is meant in the workshop's zone."""
    try:
        moment = parse_datetime(text)
    except ValueError:
        moment = None
    if moment is None:
        raise ArgumentTypeError(f"‘{text}’ is not a moment: write 2026-11-24T21:40.")
    return timezone.make_aware(moment) if timezone.is_naive(moment) else moment
