from django.urls import path

from workshop.reminders.views import calendar, house, mine

app_name = "reminders"
urlpatterns = [
    path("rounds/digest/", mine.digest, name="digest"),
    path("reminders/", mine.mine, name="mine"),
    path("reminders/services/", mine.service_add, name="service-add"),
    path("reminders/services/<int:pk>/", mine.service, name="service"),
    path("reminders/services/<int:pk>/test/", mine.service_test, name="service-test"),
    path("reminders/services/<int:pk>/remove/", mine.service_remove, name="service-remove"),
    path("reminders/calendar/", mine.feed_renew, name="feed-renew"),
    path("reminders/calendar/end/", mine.feed_end, name="feed-end"),
    path("reminders/sent/", house.sent, name="sent"),
    path("reminders/sent/<int:pk>/retry/", house.retry, name="retry"),
    path("reminders/days/", house.house, name="house"),
    path("reminders/days/close/", house.close, name="close"),
    path("reminders/days/<int:pk>/open/", house.reopen, name="reopen"),
    path("calendar/<str:token>.ics", calendar.calendar, name="calendar"),
]
