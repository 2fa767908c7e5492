from django.urls import path

from workshop.reminders import views

app_name = "reminders"
urlpatterns = [
    path("rounds/digest/", views.digest, name="digest"),
]
