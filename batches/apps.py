from django.apps import AppConfig


class BatchesConfig(AppConfig):
    name = "batches"

    def ready(self) -> None:
        """The setup page offers the demo workshop, which only the top floor can build."""
        from batches.management.demo import build_demo
        from workshop.people import setup

        setup.demo_builder = build_demo
