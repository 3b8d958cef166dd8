"""Root addresses. Apps are included by name, so the house imports none of them."""

from django.contrib.auth.views import LogoutView
from django.urls import include, path

from studio.views import backups, health, long_work, me, profile, sign_in, today

house = [
    path("", today.today_page, name="today"),
    path("health/", health.health, name="health"),
    path("sign-in/", sign_in.SignIn.as_view(), name="sign_in"),
    path("sign-in/code/", sign_in.sign_in_code, name="sign_in_code"),
    path("sign-out/", LogoutView.as_view(), name="sign_out"),
    path("first-run/", sign_in.first_run, name="first_run"),
    path("studio/", profile.profile, name="profile"),
    path("studio/people/", profile.people, name="people"),
    path("studio/people/new/", profile.person_new, name="person_new"),
    path("studio/people/<int:pk>/", profile.person_edit, name="person_edit"),
    path("studio/days-off/", profile.calendar, name="calendar"),
    path("studio/days-off/<int:pk>/remove/", profile.day_off_remove, name="day_off_remove"),
    path("me/", me.me, name="me"),
    path("me/second-factor/", me.second_factor_on, name="second_factor_on"),
    path("me/second-factor/off/", me.second_factor_off, name="second_factor_off"),
    path("me/sign-out-everywhere/", me.sign_out_everywhere, name="sign_out_everywhere"),
    path("studio/people/<int:pk>/sign-out/", profile.person_sign_out, name="person_sign_out"),
    path("studio/backups/", backups.backups, name="backups"),
    path("studio/backups/new/", backups.backup_make, name="backup_make"),
    path("studio/backups/<str:name>/", backups.backup_download, name="backup_download"),
    path("studio/backups/<str:name>/check/", backups.backup_check, name="backup_check"),
    path("work/", long_work.all_work, name="all_work"),
    path("work/<int:pk>/", long_work.work, name="work"),
    path("work/<int:pk>/stop/", long_work.stop, name="work_stop"),
]

handler500 = "studio.views.errors.server_error"

urlpatterns = [
    path("", include((house, "studio"))),
    path("", include("shots.urls")),
    path("", include("clients.urls")),
]
