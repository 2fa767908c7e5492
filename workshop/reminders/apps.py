from django.apps import AppConfig


class RemindersConfig(AppConfig):
    name = "workshop.reminders"
    label = "reminders"
