from django.urls import path

from shots.views import call_sheets, productions, session_running, sessions, setups

app_name = "shots"
urlpatterns = [
    path("productions/", productions.productions, name="productions"),
    path("productions/new/", productions.production_new, name="production_new"),
    path("productions/<str:code>/", productions.film_page, name="film"),
    path("productions/<str:code>/edit/", productions.production_edit, name="production_edit"),
    path("productions/<str:code>/stage/", productions.stage, name="stage"),
    path("productions/<str:code>/archive/", productions.production_archive, name="archive"),
    path("productions/<str:code>/restore/", productions.production_restore, name="restore"),
    path("productions/<str:code>/setups/", setups.setups, name="setups"),
    path("productions/<str:code>/setups/new/", setups.setup_new, name="setup_new"),
    path("productions/<str:code>/setups/<int:pk>/", setups.setup, name="setup"),
    path("productions/<str:code>/setups/<int:pk>/edit/", setups.setup_edit, name="setup_edit"),
    path(
        "productions/<str:code>/setups/<int:pk>/archive/",
        setups.setup_archive,
        name="setup_archive",
    ),
    path(
        "productions/<str:code>/setups/<int:pk>/restore/",
        setups.setup_restore,
        name="setup_restore",
    ),
    path("productions/<str:code>/sessions/", sessions.sessions, name="sessions"),
    path("productions/<str:code>/sessions/start/", sessions.session_start, name="session_start"),
    path("productions/<str:code>/sessions/enter/", sessions.session_enter, name="session_enter"),
    path(
        "productions/<str:code>/sessions/archived/",
        sessions.sessions_archived,
        name="sessions_archived",
    ),
    path("productions/<str:code>/sessions/<int:pk>/", sessions.session, name="session"),
    path(
        "productions/<str:code>/sessions/<int:pk>/count/<int:shot_pk>/",
        session_running.session_count,
        name="session_count",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/status/<int:shot_pk>/",
        session_running.session_shot_status,
        name="session_shot_status",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/incident/",
        session_running.session_incident,
        name="session_incident",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/incident/<int:incident_pk>/take-back/",
        session_running.session_incident_take_back,
        name="session_incident_take_back",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/check/<int:check_pk>/",
        session_running.session_check,
        name="session_check",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/pause/",
        session_running.session_pause,
        name="session_pause",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/resume/",
        session_running.session_resume,
        name="session_resume",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/finish/",
        session_running.session_finish,
        name="session_finish",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/reopen/",
        session_running.session_reopen,
        name="session_reopen",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/correct/",
        sessions.session_correct,
        name="session_correct",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/archive/",
        sessions.session_archive,
        name="session_archive",
    ),
    path(
        "productions/<str:code>/sessions/<int:pk>/restore/",
        sessions.session_restore,
        name="session_restore",
    ),
    path("productions/<str:code>/paperwork/", call_sheets.paperwork, name="paperwork"),
    path(
        "productions/<str:code>/call-sheets/new/",
        call_sheets.call_sheet_new,
        name="call_sheet_new",
    ),
    path("productions/<str:code>/call-sheets/<int:pk>/", call_sheets.call_sheet, name="call_sheet"),
    path(
        "productions/<str:code>/call-sheets/<int:pk>/pdf/",
        call_sheets.call_sheet_pdf,
        name="call_sheet_pdf",
    ),
    path(
        "productions/<str:code>/call-sheets/<int:pk>/edit/",
        call_sheets.call_sheet_edit,
        name="call_sheet_edit",
    ),
    path(
        "productions/<str:code>/call-sheets/<int:pk>/archive/",
        call_sheets.call_sheet_archive,
        name="call_sheet_archive",
    ),
    path(
        "productions/<str:code>/call-sheets/<int:pk>/restore/",
        call_sheets.call_sheet_restore,
        name="call_sheet_restore",
    ),
    path("studio/lists/", productions.floor_lists, name="floor_lists"),
]
