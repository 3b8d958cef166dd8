from django.urls import path

from shots.views import productions

app_name = "shots"
urlpatterns = [
    path("productions/", productions.productions, name="productions"),
    path("productions/new/", productions.production_new, name="production_new"),
    path("productions/<str:code>/", productions.film_page, name="film"),
    path("productions/<str:code>/edit/", productions.production_edit, name="production_edit"),
    path("productions/<str:code>/stage/", productions.stage, name="stage"),
    path("productions/<str:code>/archive/", productions.production_archive, name="archive"),
    path("productions/<str:code>/restore/", productions.production_restore, name="restore"),
    path("studio/lists/", productions.floor_lists, name="floor_lists"),
]
