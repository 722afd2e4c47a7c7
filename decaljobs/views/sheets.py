"""To be written."""


def sheet_list(request, **_):
    raise NotImplementedError


def sheet_new(request, **_):
    raise NotImplementedError


def sheet(request, **_):
    raise NotImplementedError


def fill(request, **_):
    raise NotImplementedError


def printed(request, **_):
    raise NotImplementedError


def coat(request, **_):
    raise NotImplementedError


def undo(request, **_):
    raise NotImplementedError
