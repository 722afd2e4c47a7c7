"""To be written."""


def rule_list(request, **_):
    raise NotImplementedError


def rule_change(request, **_):
    raise NotImplementedError
