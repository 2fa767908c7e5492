from django.urls import path

from workshop.offline import views

app_name = "offline"
urlpatterns = [
    path("sw.js", views.worker, name="worker"),
    path("manifest.webmanifest", views.manifest, name="manifest"),
    path("away/", views.away, name="away"),
    path("outbox/", views.outbox, name="outbox"),
    path("waiting/", views.waiting_entries, name="waiting"),
]
