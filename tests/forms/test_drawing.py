"""Fields drawn by ourselves are to the letter what Django's own templates make of them."""

import re

import pytest
from django import forms
from django.forms.renderers import DjangoTemplates
from django.template import Context, Template
from django.utils.safestring import mark_safe

from decaljobs.forms.drawing import KINDS, FieldsDrawn, whole_field

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


class Kinds(forms.Form):
    default_renderer = OWN
    use_required_attribute = False
    name = forms.CharField(help_text=EVIL)
    note = forms.CharField(label=EVIL, required=False)
    taken = forms.BooleanField(required=False, help_text="Tick it.")
    fruit = forms.ChoiceField(
        choices=FRUIT, widget=forms.RadioSelect, required=False, help_text="One."
    )
    kept = forms.CharField(widget=forms.HiddenInput, required=False)


#: The same as a template would say it.
FIELD = """
{% if field.is_hidden %}{{ field }}
{% elif field.use_fieldset %}<div class="field"><fieldset{% if field.aria_describedby %}
 aria-describedby="{{ field.aria_describedby }}"{% endif %}><legend>{{ field.label }}
{% if not field.field.required %} <span class="optional">(optional)</span>{% endif %}</legend>
{% if field.help_text %}<p class="help" id="{{ field.auto_id }}_helptext">{{ field.help_text }}</p>
{% endif %}{{ field }}{{ field.errors }}</fieldset></div>
{% elif field.name == "taken" %}<div class="field tick"><label for="{{ field.id_for_label }}">
{{ field }} {{ field.label }}</label>
{% if field.help_text %}<p class="help" id="{{ field.auto_id }}_helptext">{{ field.help_text }}</p>
{% endif %}{{ field.errors }}</div>
{% else %}<div class="field"><label for="{{ field.id_for_label }}">{{ field.label }}
{% if not field.field.required and not plain %} <span class="optional">(optional)</span>{% endif %}
</label>{% if field.help_text %}<p class="help" id="{{ field.auto_id }}_helptext">
{{ field.help_text }}</p>{% endif %}{{ field }}{{ field.errors }}</div>{% endif %}
"""


@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize("sent", [None, {}, {"name": EVIL, "fruit": "nothing known"}], ids=repr)
@pytest.mark.parametrize("name", Kinds.base_fields)
def test_a_whole_field_is_what_a_template_makes_of_it(name, sent, plain):
    told = Template(FIELD).render(Context({"field": Kinds(sent)[name], "plain": plain}))
    drawn = whole_field(Kinds(sent)[name], plain=plain)
    assert re.sub(r"\s+", "", drawn) == re.sub(r"\s+", "", told)
    assert "<script>" not in drawn


def test_every_kind_drawn_by_ourselves_is_a_kind_of_django_s():
    for name in KINDS:
        assert THEIRS.get_template(name)
