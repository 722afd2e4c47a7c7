"""Who comes in: the first owner, further people, and signing in."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm, UsernameField
from django.contrib.auth.password_validation import validate_password
from django.core.validators import RegexValidator

from decaljobs.models import Person, Role

NAME = RegexValidator(
    r"\A[\w.@+'’-]+( [\w.@+'’-]+)*\Z",
    "Write a name of letters and digits; a space, full stop, hyphen or apostrophe may be in it.",
)


class SignInForm(AuthenticationForm):
    """Name and password; longer ones than there can be are refused before anything is kept."""

    username = UsernameField(
        label="Name", max_length=150, widget=forms.TextInput(attrs={"autofocus": True})
    )
    password = forms.CharField(
        label="Password",
        strip=False,
        max_length=1000,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PasswordMixin(forms.Form):
    """A password that is optional where one-time links will do."""

    password = forms.CharField(
        label="Password",
        required=False,
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean_password(self) -> str:
        password = self.cleaned_data["password"]
        if password:
            validate_password(password)
        return password


class NameMixin(forms.Form):
    name = forms.CharField(
        label="Name",
        max_length=60,
        validators=[NAME],
        widget=forms.TextInput(attrs={"autocomplete": "username"}),
    )

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        if Person.objects.filter(username__iexact=name).exists():
            raise forms.ValidationError("Somebody here has this name already.")
        return name


class FirstOwnerForm(PasswordMixin, NameMixin):
    field_order = ["name", "password"]


class NewPersonForm(PasswordMixin, NameMixin):
    role = forms.ChoiceField(label="Role", choices=Role.choices, initial=Role.MAKER)
    field_order = ["name", "role", "password"]


class ChangePersonForm(PasswordMixin):
    role = forms.ChoiceField(label="Role", choices=Role.choices)
    is_active = forms.BooleanField(label="May sign in", required=False)
    field_order = ["role", "is_active", "password"]


class OwnPasswordForm(PasswordMixin):
    """One's own new password; the old one is asked for where there is one."""

    old = forms.CharField(
        label="The password until now",
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    field_order = ["old", "password"]

    def __init__(self, *args, person: Person, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        self.fields["password"].label = "New password"
        self.fields["password"].required = True
        if not person.has_usable_password():
            del self.fields["old"]

    def clean_old(self) -> str:
        old = self.cleaned_data["old"]
        if not self.person.check_password(old):
            raise forms.ValidationError("That is not the password until now.")
        return old
