"""Is the house up? For the proxy, the compose file and the doctor. Tells a stranger nothing."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError
from django.http import HttpRequest, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from workshop import clock, heartbeat


@login_not_required
@never_cache
@require_safe
def health(request: HttpRequest) -> JsonResponse:
    """200 when the database answers and the worker has swept within five minutes, else 503."""
    state = {"database": False, "worker": False}
    try:
        state["worker"] = heartbeat.alive(name="sweep", at=clock.now())
        state["database"] = True
    except DatabaseError:
        pass
    return JsonResponse(state, status=200 if all(state.values()) else 503)
