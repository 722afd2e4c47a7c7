"""The forms of a page, read from its HTML as a browser would: fields, what they hold, buttons."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urldefrag

# Kinds of input that a person types into.
TYPED = frozenset({"text", "number", "search", "date", "color", "password", "textarea"})
# Kinds of input that offer a choice.
CHOSEN = frozenset({"select", "radio"})


@dataclass
class Field:
    """One field: its name, kind, what a browser would send for it, whether it is marked wrong."""

    name: str
    kind: str
    values: list[str] = field(default_factory=list)
    offered: list[str] = field(default_factory=list)
    numeric: bool = False
    invalid: bool = False


@dataclass
class PageForm:
    """One form as it stands on a page. A button that sends elsewhere makes one of its own, of
    which nothing is known but the button."""

    action: str
    method: str
    fields: dict[str, Field] = field(default_factory=dict)
    button: tuple[str, str] | None = None

    @property
    def sent(self) -> dict[str, list[str]]:
        """What a press of its button sends, without files."""
        kept = {f.name: f.values for f in self.fields.values() if f.kind != "file" and f.values}
        return {**kept, self.button[0]: [self.button[1]]} if self.button else kept

    def of_kind(self, *kinds: str) -> list[Field]:
        return [found for found in self.fields.values() if found.kind in kinds]


class Page(HTMLParser):
    """A page's forms and all the attributes on it."""

    def __init__(self, html: str, path: str) -> None:
        super().__init__()
        self.path = path
        self.forms: list[PageForm] = []
        self.attributes: set[tuple[str, str]] = set()
        self._form: PageForm | None = None
        self._field: Field | None = None
        self.feed(html)

    def marks_wrong(self, name: str) -> bool:
        """Whether a field of this name is marked as wrong."""
        fields = [form.fields[name] for form in self.forms if name in form.fields]
        return any(found.invalid for found in fields)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.attributes |= set(given.items())
        if tag == "form":
            action = urldefrag(given.get("action") or self.path).url
            self._form = PageForm(action, given.get("method", "get").lower())
            self.forms.append(self._form)
        elif self._form is None or "disabled" in given:
            return
        elif tag == "option" and self._field is not None:
            self._offer(self._field, given, chosen="selected" in given)
        elif tag == "button":
            self._press(given)
        elif "name" in given and tag in ("input", "select", "textarea"):
            self._take(tag, given)

    def _press(self, given: dict[str, str]) -> None:
        named = (given["name"], given.get("value", "")) if "name" in given else None
        if "formaction" in given:
            self.forms.append(PageForm(given["formaction"], "post", button=named))
        elif self._form.button is None:
            self._form.button = named

    def _take(self, tag: str, given: dict[str, str]) -> None:
        kind = given.get("type", "text") if tag == "input" else tag
        found = self._form.fields.setdefault(given["name"], Field(given["name"], kind))
        found.invalid |= given.get("aria-invalid") == "true"
        found.numeric = kind == "number" or given.get("inputmode") == "decimal"
        if tag != "input":
            self._field = found
        elif kind in ("checkbox", "radio"):
            self._offer(found, given, chosen="checked" in given)
        else:
            found.values.append(given.get("value", ""))

    def _offer(self, found: Field, given: dict[str, str], *, chosen: bool) -> None:
        value = given.get("value", "on")
        found.offered.append(value)
        if chosen:
            found.values.append(value)

    def handle_data(self, data: str) -> None:
        if self._field is not None and self._field.kind == "textarea":
            self._field.values.append(data.removeprefix("\n"))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        if tag in ("select", "textarea") and self._field is not None:
            if self._field.kind == "select" and not self._field.values:
                self._field.values = self._field.offered[:1]
            self._field = None
