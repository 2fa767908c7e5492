from django.apps import AppConfig


class OfflineConfig(AppConfig):
    name = "workshop.offline"
    label = "offline"
