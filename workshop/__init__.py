"""The Django project: settings, addresses, and the set-up of the first run."""

VERSION = "0.9.1"
