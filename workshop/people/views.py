"""Signing in."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


@login_not_required
def sign_in(request: HttpRequest) -> HttpResponse:
    return render(request, "people/sign_in.html")
