"""Every address of the house. The apps bring their own."""

from django.urls import include, path

urlpatterns = [
    path("", include("workshop.people.urls")),
    path("", include("inventory.urls")),
    path("", include("batches.urls")),
]
