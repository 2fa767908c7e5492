"""What a person says when an entry is given up, and what an entry said in the words of its form."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from django import forms

from workshop.forms import ActForm


class GiveUpForm(ActForm):
    """`label`, `path` and `typed` come from a tablet that gives up what was never sent."""

    label = forms.CharField(widget=forms.HiddenInput, max_length=200, required=False)
    path = forms.CharField(widget=forms.HiddenInput, max_length=300, required=False)
    typed = forms.JSONField(widget=forms.HiddenInput, required=False)
    key = forms.CharField(widget=forms.HiddenInput, max_length=100)
    why = forms.CharField(label="Reason", max_length=300)

    def pairs(self) -> list[list[str]]:
        """Names and values of the entry, as far as they are any."""
        sent = self.cleaned_data.get("typed")
        rows = sent if isinstance(sent, list) else []
        return [[str(part) for part in pair] for pair in rows if isinstance(pair, list) and len(pair) == 2]


def as_shown(form: forms.BaseForm, pairs: Sequence[Sequence[str]]) -> list[list[str]]:
    """What was typed and chosen, under the words of its form; what no person sees is left out."""
    named = {form.add_prefix(name): form[name] for name in form.fields}
    seen = [(named[name], value) for name, value in pairs if name in named and value]
    return [[str(one.label), _chosen(one.field, value)] for one, value in seen if not one.is_hidden]


def _chosen(field: forms.Field, value: str) -> str:
    """The words of a choice, "yes" of a tick; anything else as it was typed."""
    if isinstance(field.widget, forms.CheckboxInput):
        return "yes"
    return dict(_choices(getattr(field, "choices", ()))).get(value, value)


def _choices(found: object) -> Iterator[tuple[str, str]]:
    for value, words in found:  # type: ignore[attr-defined]
        if isinstance(words, list | tuple):
            yield from _choices(words)  # a group of them
        else:
            yield str(value), str(words)
