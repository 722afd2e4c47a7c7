"""To be written."""


def decal(request, **_):
    raise NotImplementedError


def log(request, **_):
    raise NotImplementedError


def undo(request, **_):
    raise NotImplementedError


def spoil(request, **_):
    raise NotImplementedError


def change(request, **_):
    raise NotImplementedError


def drop(request, **_):
    raise NotImplementedError
