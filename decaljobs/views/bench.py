"""To be written."""


def bench(request, **_):
    raise NotImplementedError


def log(request, **_):
    raise NotImplementedError
