"""The ground floor as a Django app. The Celery app is loaded here, never in `workshop/__init__.py`."""

from django.apps import AppConfig


class WorkshopConfig(AppConfig):
    name = "workshop"
    verbose_name = "Workshop"

    def ready(self) -> None:
        from workshop import celery, checks  # noqa: F401 registered by being loaded
