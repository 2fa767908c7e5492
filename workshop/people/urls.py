from django.urls import path

from workshop.people import views

app_name = "people"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
]
