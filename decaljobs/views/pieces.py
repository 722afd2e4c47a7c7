"""To be written."""


def spoil(request, **_):
    raise NotImplementedError


def take_off(request, **_):
    raise NotImplementedError
