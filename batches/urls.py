from django.urls import path

from batches.views import acts, batch, bottling, formulas, labels, plans, rounds, shelf, undo, vessels

app_name = "batches"
urlpatterns = [
    path("", shelf.shelf, name="shelf"),
    path("rounds/", rounds.rounds, name="rounds"),
    path("rounds/shaken/", rounds.rounds_shake, name="rounds-shake"),
    path("rounds/settled/", rounds.rounds_settle, name="rounds-settle"),
    path("batches/photos/<int:pk>/", batch.photo, name="photo"),
    path("batches/undo/<int:pk>/", undo.undo, name="undo"),
    path("batches/acts/<int:pk>/undo/", undo.undo_one, name="undo-act"),
    path("rounds/undo/", rounds.rounds_undo, name="rounds-undo"),
    path("batches/", batch.batch_list, name="batches"),
    path("batches/quick-jar/", plans.quick_jar, name="quick-jar"),
    path("batches/adopt/", plans.adopt, name="adopt-jar"),
    path("formulas/", formulas.formula_list, name="formulas"),
    path("formulas/new/", formulas.formula_new, name="formula-new"),
    path("formulas/<int:pk>/", formulas.formula_page, name="formula"),
    path("formulas/<int:pk>/away/", formulas.formula_away, name="formula-away"),
    path("formulas/versions/<int:pk>/change/", formulas.formula_revise, name="formula-revise"),
    path("formulas/versions/<int:pk>/approve/", formulas.formula_approve, name="formula-approve"),
    path("formulas/versions/<int:pk>/plan/", plans.plan, name="plan"),
    path("vessels/", vessels.vessel_list, name="vessels"),
    path("vessels/new/", vessels.vessel_new, name="vessel-new"),
    path("vessels/<int:pk>/", vessels.vessel, name="vessel"),
    path("vessels/<int:pk>/away/", vessels.vessel_away, name="vessel-away"),
    path("labels/", labels.label_list, name="labels"),
    path("labels/bulk/<str:code>/", bottling.run_new, name="run-new"),
    path("labels/runs/<int:pk>/", bottling.run, name="run"),
    path("labels/runs/<int:pk>/print/", labels.run_print, name="run-print"),
    path("labels/runs/<int:pk>/labels.pdf", labels.run_labels, name="run-labels"),
    path("labels/runs/<int:pk>/<slug:name>/", bottling.run_act, name="run-act"),
    path("batches/<int:number>/jar-label/", labels.jar_label, name="jar-label"),
    path("batches/<int:number>/jar-label.pdf", labels.jar_label_pdf, name="jar-label-pdf"),
    path("batches/<int:number>/", batch.batch_page, name="batch"),
    path("batches/<int:number>/<int:order>/<slug:name>/", acts.stage_act, name="act"),
]
