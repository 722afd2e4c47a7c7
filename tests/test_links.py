"""Addresses of pages are Django's own, found once."""

import pytest
from django.template import Context, Template, TemplateSyntaxError
from django.urls import NoReverseMatch, reverse, set_script_prefix

from decaljobs.links import address


def said(template: str, **context: object) -> str:
    return Template(template).render(Context(context))


@pytest.mark.parametrize(("name", "part"), [("decal", 5), ("project", "P-06")])
def test_they_are_what_django_finds(name, part):
    found = reverse(name, args=[part])
    for _ in range(2):
        assert address(name, part) == found
        assert said("{% url name part %}", name=name, part=part) == found
    assert said("{% url 'bench' %}") == address("bench") == reverse("bench")


def test_no_page_of_that_name_is_no_address():
    for ask in (lambda: address("nowhere"), lambda: said("{% url 'nowhere' %}")):
        with pytest.raises(NoReverseMatch):
            ask()


def test_they_begin_as_the_server_says():
    before = address("bench")
    set_script_prefix("/club/")
    try:
        assert address("bench") == "/club/"
    finally:
        set_script_prefix("/")
    assert address("bench") == before


def test_an_address_can_be_named_and_its_parts_too():
    assert said("{% url 'decal' 5 as href %}[{{ href }}]") == f"[{address('decal', 5)}]"
    assert said("{% url 'nowhere' as href %}[{{ href }}]") == "[]"
    assert said("{% url 'decal' pk=5 %}") == address("decal", 5)


def test_a_tag_without_a_name_is_refused():
    with pytest.raises(TemplateSyntaxError):
        said("{% url %}")
