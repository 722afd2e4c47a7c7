"""A backup brought along, and one to be restored."""

from django import forms


class BringBackupForm(forms.Form):
    file = forms.FileField(
        label="Backup file",
        help_text="A zip made by this program, up to 25 MB; a larger one is restored from the "
        "terminal with restore FILE.",
        widget=forms.FileInput(attrs={"accept": ".zip,application/zip"}),
    )


class RestoreForm(forms.Form):
    sure = forms.BooleanField(
        label="Put this backup in the place of everything",
        error_messages={"required": "Tick this if the workshop shall go back to the backup."},
    )
