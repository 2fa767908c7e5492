"""The forms that everything typed comes through: refusals that name the field, and acts that count once."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest, QueryDict
from django.utils.datastructures import MultiValueDict
from django.utils.functional import cached_property

from workshop import drafts, plausible, typed

LOST_KEY = "This form lost its mark on the way here. Nothing was saved; look it over and send it once more."
OTHER_NAME = re.compile(r"^[A-Z][a-z-]*( [a-z-]+){0,2}: ")  # another name: "Herb: more than 0."
# How a field of a kind wants it written; the first that fits is said.
INVALID: dict[type[forms.Field], str] = {
    forms.EmailField: "write an address such as rowan@example.org.",
    forms.FileField: "no file came. Choose it again.",
    forms.DateField: "write a day such as 2026-03-02.",
    forms.TimeField: "write a time such as 07:30.",
    forms.IntegerField: "write a number in digits, such as 12.",
}
NEVER_KEPT = (forms.PasswordInput, forms.FileInput)


def fresh_key() -> str:
    """A request key for a new form: 128 random bits, and whose form it is."""
    return typed.signed(secrets.token_hex(16))


class PlainForm(forms.Form):
    """A form whose every refusal names the field and says what to do."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._speak()

    def full_clean(self) -> None:
        """Fields that came after the form was made speak like the rest."""
        self._speak()
        super().full_clean()

    def _speak(self) -> None:
        for name, field in self.fields.items():
            label = str(field.label or name.replace("_", " ").capitalize())
            ours = self.refusals(label) | self._of_kind(label, field) | self._own_words(field)
            field.error_messages = field.error_messages | ours

    @staticmethod
    def _of_kind(label: str, field: forms.Field) -> dict[str, str]:
        """What only some fields can say: their bounds with thousands apart, how a day is written, files."""
        found = {}
        for code, words in (("min_value", "at least"), ("max_value", "at most")):
            bound = getattr(field, code, None)
            if bound is not None and not callable(bound):
                found[code] = f"{label.replace('%', '%%')}: must be {words} {bound:,}."
        kinds = (kind for known, kind in INVALID.items() if isinstance(field, known))
        found["invalid"] = f"{label}: {next(kinds, 'this cannot be read. Type it again.')}"
        if isinstance(field, forms.FileField):
            found["max_length"] = f"{label}: the file's name is too long. Give it a shorter one."
        return found

    def add_error(self, field: str | None, error: Any) -> None:
        """What stands at a field begins with the field's name, whoever refused it."""
        super().add_error(field, error)
        if field is not None and field in self._errors:
            said = self._errors[field]
            said.data = [self._named(field, one) for one in said.data]

    def _named(self, field: str, error: ValidationError) -> ValidationError:
        label, sentence = str(self[field].label), error.messages[0]
        if sentence.casefold().startswith(label.casefold()):
            return error
        named = label if label.endswith("?") else f"{label}:"
        return ValidationError(f"{named} {OTHER_NAME.sub('', sentence)}", code=error.code)

    @staticmethod
    def _own_words(field: forms.Field) -> dict[str, Any]:
        """What the field's author wrote, which goes before ours."""
        usual: dict[str, Any] = {}
        for kind in reversed(type(field).__mro__):
            usual |= getattr(kind, "default_error_messages", {})
        return {code: said for code, said in field.error_messages.items() if said != usual.get(code)}

    @staticmethod
    def refusals(label: str) -> dict[str, str]:
        """What is said instead of the framework's own words, by its error codes."""
        filled = label.replace("%", "%%")  # these three are filled in by %, and a label may hold "% vol"
        return {
            "required": f"{label}: this is needed. Fill it in.",
            "invalid_list": f"{label}: choose from the list.",
            "invalid_choice": f"{filled}: choose one from the list.",
            "invalid_pk_value": f"{filled}: choose one from the list.",
            "max_length": f"{filled}: this is too long. Keep it to %(limit_value)d characters.",
            "min_length": f"{filled}: this is too short. Give at least %(limit_value)d characters.",
            "max_digits": f"{filled}: at most %(max)d digits.",
            "max_decimal_places": f"{filled}: at most %(max)d digits after the point.",
            "max_whole_digits": f"{filled}: at most %(max)d digits before the point.",
            "empty": f"{label}: this file is empty. Choose another.",
            "missing": f"{label}: no file came. Choose it again.",
            "contradiction": f"{label}: choose a file or take it away, not both.",
            "invalid_image": f"{label}: this is no picture that can be read. Choose another.",
            "null_characters_not_allowed": f"{filled}: this holds a sign that is no text. Type it again.",
        }


@dataclass(frozen=True, slots=True)
class WayOut:
    """What a refused form offers instead: why, what the button says, where it leads."""

    words: str
    act: str
    url: str


class ActForm(PlainForm):
    """A form that is applied once: it carries its own request key from the moment it is shown.

    `way_out` is what a refusal offered. Shown again from a draft, the form holds what had been typed.
    """

    once_key = forms.CharField(widget=forms.HiddenInput, initial=fresh_key, max_length=100)
    way_out: WayOut | None = None

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._expected: dict[str, plausible.Expected] = {}
        if any(self._is_kept(field) for field in self.fields.values()):
            self.fields["once_key"].widget.attrs["data-draft"] = type(self).__name__

    @staticmethod
    def _is_kept(field: forms.Field) -> bool:
        return not (field.widget.is_hidden or isinstance(field.widget, NEVER_KEPT))

    @cached_property
    def typed_before(self) -> QueryDict | None:
        """What this person had typed here and not saved (`workshop.typed`); None when nothing waits."""
        if self.is_bound or drafts.opened(self.draft_name()) is not None:
            return None
        names = [self.add_prefix(name) for name, field in self.fields.items() if self._is_kept(field)]
        return typed.opened(form=type(self).__name__, names=names) if names else None

    @property
    def refused_before(self) -> str:
        """The sentence with which what had been typed was refused; "" when it was not sent."""
        return str(self.typed_before.get(typed.REFUSED, "")) if self.typed_before else ""

    @property
    def fresh_url(self) -> str:
        """This page without what had been typed."""
        request = drafts.asking()
        query = request.GET.copy() if request is not None else QueryDict(mutable=True)
        query["fresh"] = "1"
        return f"?{query.urlencode()}"

    @classmethod
    def draft_name(cls) -> str:
        """The name under which drafts of this form are kept."""
        return f"{cls.__module__}.{cls.__qualname__}"

    def get_initial_for_field(self, field: forms.Field, field_name: str) -> Any:
        draft = drafts.opened(self.draft_name())
        before = draft.typed if draft is not None else self.typed_before
        if before is not None and self._is_kept(field):
            found = field.widget.value_from_datadict(before, MultiValueDict(), self.add_prefix(field_name))
            if found is not None:
                return found
        return super().get_initial_for_field(field, field_name)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or self.cleaned_data
        if "once_key" in self.errors:  # hidden, so nobody would see its own complaint
            self.add_error(None, LOST_KEY)
            again = QueryDict(mutable=True)
            again.update(self.data)
            again[self.add_prefix("once_key")] = fresh_key()
            self.data = again
        return found

    def expect(
        self, name: str, *, also: str = "", short: bool = True, what: str = "planned", **amounts: float | None
    ) -> None:
        """What a field should come to, as `g=`, `ml=` or `count=`: far off it is asked about once."""
        units = {"g": "g", "ml": "mL", "count": ""}
        known = {units[unit]: float(amount) for unit, amount in amounts.items() if amount is not None}
        self._expected[name] = plausible.Expected(known, also, short, what)

    def expect_nothing(self) -> None:
        """For a look while somebody types: what is far off the plan is reckoned with, and not asked about."""
        self._expected.clear()

    def _post_clean(self) -> None:
        super()._post_clean()
        plausible.judge(self, self._expected)

    def values(self) -> dict[str, Any]:
        """The cleaned fields without the key, ready to be handed to an action."""
        return {name: value for name, value in self.cleaned_data.items() if name != "once_key"}

    def body(self, request: HttpRequest) -> dict[str, Any]:
        """What was sent, to tell a repeat from another request. Never a password: its hash would be kept."""
        sent: dict[str, Any] = self.sent(request)
        files = {key: [(file.name, file.size) for file in files] for key, files in request.FILES.lists()}
        return sent | files

    def sent(self, request: HttpRequest) -> dict[str, list[str]]:
        """The fields as they came, without files, passwords and the mark against forgery."""
        secret = {
            self.add_prefix(name)
            for name, field in self.fields.items()
            if isinstance(field.widget, forms.PasswordInput)
        }
        return {
            key: list(values)
            for key, values in request.POST.lists()
            if key not in secret and key != "csrfmiddlewaretoken"
        }
