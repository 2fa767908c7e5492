from django.urls import URLPattern

app_name = "inventory"
urlpatterns: list[URLPattern] = []
