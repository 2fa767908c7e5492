"""Every address of the house. The apps bring their own."""

from django.urls import include, path

from workshop.health import health

urlpatterns = [
    path("health/", health, name="health"),
    path("", include("workshop.people.urls")),
    path("", include("workshop.reminders.urls")),
    path("", include("workshop.offline.urls")),
    path("", include("inventory.urls")),
    path("", include("batches.urls")),
]

handler400 = "workshop.answers.bad_request"
handler403 = "workshop.answers.forbidden"
handler404 = "workshop.answers.not_found"
handler500 = "workshop.answers.server_error"
