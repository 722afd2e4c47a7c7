"""To be written."""


def search(request, **_):
    raise NotImplementedError
