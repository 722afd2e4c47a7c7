"""To be written."""


def project_list(request, **_):
    raise NotImplementedError


def project_new(request, **_):
    raise NotImplementedError


def project(request, **_):
    raise NotImplementedError


def project_change(request, **_):
    raise NotImplementedError


def decals_new(request, **_):
    raise NotImplementedError


def job_card(request, **_):
    raise NotImplementedError
