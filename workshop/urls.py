"""Every address of the house. The apps bring their own."""

from django.urls import include, path

from workshop.health import health

urlpatterns = [
    path("health/", health, name="health"),
    path("", include("workshop.people.urls")),
    path("", include("inventory.urls")),
    path("", include("batches.urls")),
]
