from django.urls import path

from workshop.people.views import bench, own, setup, signing, staff, tablets, workshop

app_name = "people"
urlpatterns = [
    path("setup/", setup.first_visit, name="setup"),
    path("sign-in/", signing.sign_in, name="sign-in"),
    path("sign-out/", signing.sign_out, name="sign-out"),
    path("preferences/", own.preferences, name="preferences"),
    path("preferences/view/", own.tablet_view, name="view"),
    path("preferences/password/", own.password, name="password"),
    path("staff/", staff.staff_list, name="staff"),
    path("staff/tablets/", tablets.tablet_list, name="tablets"),
    path("staff/tablets/here/", tablets.enrol_here, name="tablet-here"),
    path("staff/tablets/<int:pk>/revoke/", tablets.revoke, name="tablet-revoke"),
    path("tablet/", tablets.enrol, name="enrol"),
    path("bench/password/", bench.again, name="again"),
    path("staff/<int:pk>/", staff.person_page, name="person"),
    path("staff/<int:pk>/switch/", staff.switch, name="person-switch"),
    path("staff/<int:pk>/password/", staff.first_password, name="person-password"),
    path("workshop/", workshop.settings_page, name="workshop"),
]
