from django.urls import path

from batches.views import acts, batch

app_name = "batches"
urlpatterns = [
    path("batches/", batch.batch_list, name="batches"),
    path("batches/<int:number>/", batch.batch_page, name="batch"),
    path("batches/<int:number>/<int:order>/<slug:name>/", acts.stage_act, name="act"),
]
