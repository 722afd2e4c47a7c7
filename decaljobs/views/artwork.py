"""To be written."""


def artwork_list(request, **_):
    raise NotImplementedError


def artwork_new(request, **_):
    raise NotImplementedError


def artwork(request, **_):
    raise NotImplementedError


def artwork_change(request, **_):
    raise NotImplementedError


def picture(request, **_):
    raise NotImplementedError


def preview(request, **_):
    raise NotImplementedError
