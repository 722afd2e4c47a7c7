"""Fields drawn by ourselves are to the letter what Django's own templates make of them."""

import pytest
from django import forms
from django.forms.renderers import DjangoTemplates
from django.utils.safestring import mark_safe

from decaljobs.forms.drawing import KINDS, FieldsDrawn

EVIL = "\"><script>alert(1)</script>&amp;'é"
FRUIT = [("", "—"), ("a", "Apple & pear"), (3, "Three"), ("More", [("x", EVIL), (EVIL, "y")])]
OWN, THEIRS = FieldsDrawn(), DjangoTemplates()
ATTRIBUTES = {"id": "id_one", "required": True, "disabled": False, "data-most": 5, "title": EVIL}
WIDGETS = [
    forms.TextInput(),
    forms.NumberInput(),
    forms.HiddenInput(),
    forms.PasswordInput(render_value=True),
    forms.DateInput(),
    forms.EmailInput(),
    forms.SearchInput(),
    forms.FileInput(),
    forms.CheckboxInput(),
    forms.Textarea(),
    forms.Select(choices=FRUIT),
    forms.SelectMultiple(choices=FRUIT),
    forms.RadioSelect(choices=FRUIT),
    forms.CheckboxSelectMultiple(choices=FRUIT),
    forms.ClearableFileInput(),
]
VALUES = [None, "", "a", 3, 0, 2.5, 12345.678, True, EVIL, mark_safe("<b>kept</b>"), ["a", EVIL]]


@pytest.mark.parametrize("value", VALUES, ids=repr)
@pytest.mark.parametrize("attributes", [{}, ATTRIBUTES], ids=["bare", "with attributes"])
@pytest.mark.parametrize("widget", WIDGETS, ids=lambda widget: type(widget).__name__)
def test_a_field_is_what_django_makes_of_it(widget, attributes, value):
    drawn = widget.render("one", value, dict(attributes), renderer=OWN)
    assert drawn == widget.render("one", value, dict(attributes), renderer=THEIRS)


def test_a_choice_named_by_a_script_stays_words():
    assert "<script>" not in forms.Select(choices=FRUIT).render("one", EVIL, {}, renderer=OWN)


def test_errors_are_shown_and_no_errors_are_nothing():
    class Form(forms.Form):
        default_renderer = OWN
        name = forms.CharField(error_messages={"required": EVIL})

    assert str(Form({"name": "x"})["name"].errors) == ""
    wrong = str(Form({})["name"].errors)
    assert wrong.startswith("<ul") and "<script>" not in wrong


def test_every_kind_drawn_by_ourselves_is_a_kind_of_django_s():
    for name in KINDS:
        assert THEIRS.get_template(name)
