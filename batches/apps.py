from django.apps import AppConfig


class BatchesConfig(AppConfig):
    name = "batches"

    def ready(self) -> None:
        """What the ground floor cannot know: the demo workshop, and how the acts are called."""
        from batches.management.demo import build_demo
        from batches.queries.rounds import ACTS
        from batches.queries.vessels import places_of_work
        from workshop.people import setup
        from workshop.reminders.acts import name_acts, name_places

        setup.demo_builder = build_demo
        name_acts(ACTS)
        name_places(places_of_work)
